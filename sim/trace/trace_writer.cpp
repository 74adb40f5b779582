#include "sim/trace/trace_writer.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cctype>
#include <cmath>
#include <optional>
#include <set>
#include <stdexcept>
#include <system_error>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "sim/trace/block.hpp"
#include "sim/trace/finish_trace.hpp"
#include "sim/trace/hdf5.hpp"
#include "sim/trace/seal.hpp"
#include "sim/trace/trace_layout.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

[[noreturn]] void fail(const std::string& message) {
  throw Error(ErrorKind::file, message);
}

bool is_lower_snake_case(std::string_view name) {
  if (name.empty() || !std::islower(static_cast<unsigned char>(name.front()))) return false;
  return std::all_of(name.begin(), name.end(), [](char c) {
    const auto byte = static_cast<unsigned char>(c);
    return std::islower(byte) || std::isdigit(byte) || c == '_';
  });
}

void claim_name(std::set<std::string>& taken, const std::string& name) {
  if (!is_lower_snake_case(name)) {
    throw std::invalid_argument(fmt::format("trace: the name '{}' is not lower_snake_case", name));
  }
  if (!taken.insert(name).second)
    throw std::invalid_argument(fmt::format("trace: the name '{}' is taken", name));
}

void check_names(const TracePlan& plan) {
  std::set<std::string> datasets{"time", "cycle", "case_resolved"};
  for (const Channel& channel : plan.time_channels) claim_name(datasets, channel.name);
  for (const Channel& channel : plan.cycle_channels) claim_name(datasets, channel.name);
  std::set<std::string> attributes{"title", "program", "program_version", "status"};
  for (const std::string& name : plan.summary) claim_name(attributes, name);
}

}  // namespace

struct TraceWriter::State {
  fs::path target;
  bool force;
  TraceHeader header;
  TracePlan plan;
  std::optional<NewFile> output;
  WrittenPages pages;  // of the file, for its seal
  std::size_t time_block;
  std::optional<Block> rows;
  std::optional<Block> cycles;
  TraceLayout layout;
  bool finished = false;

  State(fs::path target_path, bool force_it, const TraceHeader& the_header, const TracePlan& the_plan)
      : target(std::move(target_path)),
        force(force_it),
        header(the_header),
        plan(the_plan),
        time_block(time_block_for(plan.expected_rows)) {}

  const DiskFile& file() const { return output->file(); }
  std::string partial() const { return output->partial_path().string(); }
  /// Lays out a fresh file, moves the rows into it and puts it in the place of the partial file.
  void lay_out();
  void grow();
  void add(Dimension dimension, double scale, std::span<const double> values);
  void write(Block& block);
  void plan_summary(std::span<const std::pair<std::string, double>> summary);
};

void TraceWriter::State::lay_out() {
  const std::string left = rows ? "the rows so far are left in " + partial() : "nothing is left of it";
  try {
    NewFile next(target, force);
    TraceLayout next_layout = create_trace_file(next.file(), header, plan, time_block);
    TableLayout next_rows = next_layout.time, next_cycles = next_layout.cycle;
    if (rows) {
      rows->copy(file(), next.file(), next_layout.time);
      cycles->copy(file(), next.file(), next_layout.cycle);
      next.show_in_place_of(*output);
    } else {
      rows.emplace(next_layout.time, time_block);
      cycles.emplace(next_layout.cycle, cycle_block);
      next.show();
    }
    rows->go_on_in(std::move(next_rows));  // nothing fails from here on
    cycles->go_on_in(std::move(next_cycles));
    output = std::move(next);
    pages = {};
    layout = std::move(next_layout);
  } catch (const Hdf5Failure& failure) {
    fail(fmt::format("{}: cannot make room for the trace: {}; {}", target.string(), failure.what(), left));
  } catch (const std::system_error& failure) {
    fail(fmt::format("{}: cannot make room for the trace: {}; {}", target.string(), failure.code().message(),
                     left));
  }
}

void TraceWriter::State::grow() {
  write(*rows);
  write(*cycles);
  // Room costs nothing until it is used, a copy does: so both grow.
  plan.expected_rows = std::max(2 * rows->rows(), plan.expected_rows);
  plan.expected_cycles = std::max(2 * cycles->rows(), plan.expected_cycles);
  lay_out();
}

void TraceWriter::State::write(Block& block) {
  try {
    if (block.rows() > 0) output->keep();
    block.write(file(), pages);
  } catch (const std::system_error& failure) {
    fail(fmt::format("{}: cannot write: {}; the rows up to the last whole block are left there", partial(),
                     failure.code().message()));
  }
}

void TraceWriter::State::add(Dimension dimension, double scale, std::span<const double> values) {
  const bool along_time = dimension == Dimension::time;
  const auto& channels = along_time ? plan.time_channels : plan.cycle_channels;
  if (finished) throw std::invalid_argument("trace: a row after the end");
  if (values.size() != channels.size()) {
    throw std::invalid_argument(
        fmt::format("trace: {} values for {} channels", values.size(), channels.size()));
  }
  if (std::isnan(scale)) throw std::invalid_argument("trace: a row needs a time or cycle that is a number");
  Block& block = along_time ? *rows : *cycles;
  if (block.full()) write(block);  // only after a write that failed
  if (block.at_capacity()) grow();
  block.add(scale, values);
  if (block.full()) write(block);
}

void TraceWriter::State::plan_summary(std::span<const std::pair<std::string, double>> summary) {
  const std::size_t planned = plan.summary.size();
  for (const auto& [name, value] : summary) {
    if (std::find(plan.summary.begin(), plan.summary.end(), name) == plan.summary.end()) {
      plan.summary.push_back(name);
    }
  }
  if (plan.summary.size() == planned) return;
  check_names(plan);
  // New attributes would move structure about while the file is on disk; a fresh file is safe at any moment.
  plan.expected_rows = std::max<std::size_t>(rows->rows(), 1);
  plan.expected_cycles = std::max<std::size_t>(cycles->rows(), 1);
  lay_out();
}

TraceWriter::TraceWriter(std::filesystem::path target, bool force, const TraceHeader& header,
                         const TracePlan& plan) {
  check_names(plan);
  state_ = std::make_unique<State>(std::move(target), force, header, plan);
  check_output(state_->target, force);
  check_partial(state_->target, force);
  state_->lay_out();
}

TraceWriter::~TraceWriter() {
  if (!state_ || state_->finished) return;
  try {
    flush();
  } catch (const std::exception&) {  // what is on disk stays readable
  }
}

TraceWriter::TraceWriter(TraceWriter&&) noexcept = default;
TraceWriter& TraceWriter::operator=(TraceWriter&&) noexcept = default;

void TraceWriter::time_row(double time, std::span<const double> values) {
  state_->add(Dimension::time, time, values);
}

void TraceWriter::cycle_row(double number, std::span<const double> values) {
  state_->add(Dimension::cycle, number, values);
}

void TraceWriter::flush() {
  state_->write(*state_->cycles);
  state_->write(*state_->rows);
}

void TraceWriter::finish(std::string_view status, std::span<const std::pair<std::string, double>> summary) {
  State& state = *state_;
  if (state.finished) throw std::invalid_argument("trace: finished twice");
  flush();
  state.plan_summary(summary);
  state.finished = true;  // from here on columns are cut, and their ends filled: whatever fails, no row fits
  state.output->keep();
  try {
    close_trace_file(state.file(), state.plan, state.layout, state.rows->rows(), state.cycles->rows(), status,
                     summary);
    trim_trace_file(state.file(),
                    std::max(state.layout.fixed_bytes, state.layout.time.end_of(state.rows->rows())));
    write_seal(state.file(), state.pages);
  } catch (const Hdf5Failure& failure) {
    fail(fmt::format("{}: cannot finish the trace: {}; the rows are left in {}", state.target.string(),
                     failure.what(), state.partial()));
  } catch (const std::system_error& failure) {
    fail(fmt::format("{}: cannot finish the trace: {}; the rows are left in {}", state.target.string(),
                     failure.code().message(), state.partial()));
  }
  state.output->publish();
}

bool TraceWriter::empty() const {
  return state_->rows->rows() == 0 && state_->cycles->rows() == 0;
}

std::filesystem::path TraceWriter::partial_path() const {
  return state_->output->partial_path();
}

}  // namespace glassbowl::sim
