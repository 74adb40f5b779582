#include "sim/run/run_case.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <utility>
#include <vector>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "sim/bike/provenance.hpp"
#include "sim/run/blip_lag.hpp"
#include "sim/run/channels.hpp"
#include "sim/run/cycle_table.hpp"
#include "sim/run/stop_points.hpp"
#include "sim/run/summary_accumulator.hpp"
#include "sim/run/summary_numbers.hpp"
#include "sim/run/version.hpp"
#include "sim/trace/trace_writer.hpp"

namespace glassbowl::sim {
namespace {

constexpr double settle_piece = 0.02;   // [s] between looks at the stop flag before time 0
constexpr double slowest_cycle = 0.01;  // [s] for the room reserved in a trace

using Clock = std::chrono::steady_clock;

/// One run under way: the simulation and all that watches it.
class Run {
 public:
  Run(const ResolvedCase& resolved, const RunRequest& request)
      : plan_(resolved.plan),
        request_(request),
        simulation_(resolved.bike, resolved.plan.step),
        stops_(resolved.bike, resolved.plan.duration),
        channels_(all_channels(resolved.bike)),
        cycle_values_(channels_.cycle.size()),
        budget_(simulation_.network(), std::as_const(simulation_).state()) {
    if (const auto movement = find_throttle_movement(resolved.bike.rider.throttle, plan_.duration))
      blip_.emplace(simulation_, *movement);
    rows_ = static_cast<long>(std::floor(plan_.duration / plan_.trace_interval + 1e-9));
    simulation_.set_time(-plan_.settle);
    reader_.emplace(simulation_);
    if (request.csv) table_.emplace(*request.csv, request.force, channels_.cycle);
    if (request.trace) open_trace(resolved);
  }

  Summary finish_after_running(const ResolvedCase& resolved) {
    const auto begin = Clock::now();
    Summary out;
    out.name = resolved.name;
    out.title = resolved.title;
    out.warnings = resolved.warnings;
    out.provenance = provenance_text(resolved);
    try {
      settle();
      tally_.emplace(simulation_);
      out.settle = plan_.settle + std::min(simulation_.time(), 0.0);
      rows();
    } catch (const Error& failure) {
      throw Error(failure.kind(), failure.what() + leave_behind());
    }
    out.ending = ending_;
    out.status = status();
    tally_->close(simulation_, out);
    out.budget = budget_.close(std::as_const(simulation_).state());
    if (blip_) out.blip = blip_->finish(simulation_);
    if (ending_ == Ending::stalled) out.stall = stall_.explain(simulation_, plan_.settle);
    out.evaluations = simulation_.evaluations();
    if (trace_) trace_->finish(out.status, summary_numbers(out));
    if (table_) table_->finish();
    out.wall = std::chrono::duration<double>(Clock::now() - begin).count();
    report(simulation_.time(), true);
    return out;
  }

 private:
  void open_trace(const ResolvedCase& resolved) {
    TracePlan plan;
    plan.time_channels = channels_.time;
    plan.cycle_channels = channels_.cycle;
    Summary names;  // only for the names
    tally_.emplace(simulation_);
    tally_->close(simulation_, names);
    if (blip_) names.blip.emplace();
    for (const auto& [name, value] : summary_numbers(names)) plan.summary.push_back(name);
    plan.expected_rows = static_cast<std::size_t>(rows_) + (ends_between_rows() ? 2 : 1);
    plan.expected_cycles = static_cast<std::size_t>(plan_.duration / slowest_cycle) + 2;
    const TraceHeader header{resolved.title, std::string(program_version()), resolved.text};
    trace_.emplace(*request_.trace, request_.force, header, plan);
  }

  bool stopped() {
    if (request_.stop != nullptr && request_.stop->load(std::memory_order_relaxed))
      ending_ = Ending::interrupted;
    else if (simulation_.stalled())
      ending_ = Ending::stalled;
    return ending_ != Ending::complete;
  }

  void settle() {
    // Whole pieces back from time 0, so that the last one ends on it.
    for (long left = static_cast<long>(std::ceil(plan_.settle / settle_piece)); left > 0 && !stopped();
         --left) {
      go_to(-static_cast<double>(left - 1) * settle_piece);
      budget_.watch(std::as_const(simulation_).state());
      report(simulation_.time(), false);
    }
  }

  bool ends_between_rows() const {
    return static_cast<double>(rows_) * plan_.trace_interval < plan_.duration - stop_merging;
  }

  void rows() {
    if (stopped()) return;
    row();
    for (long i = 1; i <= rows_ && !stopped(); ++i) {
      go_to(static_cast<double>(i) * plan_.trace_interval);
      row();
    }
    if (!stopped() && ends_between_rows()) {
      go_to(plan_.duration);
      row();
    }
    stopped();
  }

  /// Advances to `target` by way of schedule corners and blip samples.
  void go_to(double target) {
    while (simulation_.time() < target && !simulation_.stalled()) {
      const double t = simulation_.time();
      double next = stops_.next(t, target);
      if (blip_ && blip_->watching(t)) {
        const bool starts = !blip_started_ && t >= blip_->movement().start - stop_merging;
        if (starts || blip_->due(t)) blip_->sample(simulation_);
        if (starts) {
          blip_started_ = true;
          blip_->start(simulation_);
        }
        const double sample = blip_->next_sample();
        if (sample > t + stop_merging && sample < next - stop_merging) next = sample;
      }
      simulation_.advance(next, [this](const Cycle& cycle) { on_cycle(cycle); });
    }
  }

  void on_cycle(const Cycle& cycle) {
    stall_.cycle(cycle);
    if (cycle.start + cycle.duration <= 0.0) return;
    tally_->cycle(cycle, simulation_.misfires());
    if (!trace_ && !table_ && !request_.cycle_row) return;
    fill_cycle_row(cycle, cycle_values_);
    if (request_.cycle_row) request_.cycle_row(static_cast<double>(cycle.number), cycle_values_);
    if (trace_) trace_->cycle_row(static_cast<double>(cycle.number), cycle_values_);
    if (table_) table_->row(cycle.number, cycle_values_);
  }

  void row() {
    tally_->row(simulation_.outputs());
    if (trace_ || request_.time_row) {
      const std::span<const double> values = reader_->read_current();
      if (trace_) trace_->time_row(simulation_.time(), values);
      if (request_.time_row) request_.time_row(simulation_.time(), values);
    }
    budget_.watch(std::as_const(simulation_).state());
    if ((++reported_ & 0xff) == 0) report(simulation_.time(), false);
  }

  void report(double time, bool last) const {
    if (!request_.progress) return;
    const double share = (time + plan_.settle) / (plan_.duration + plan_.settle);
    request_.progress(last && ending_ == Ending::complete ? 1.0 : share, time);
  }

  std::string status() const {
    if (ending_ == Ending::stalled)
      return fmt::format("stopped early: stalled at {:.4g} s", simulation_.time());
    if (ending_ == Ending::interrupted) return "stopped early: interrupted";
    return "complete";
  }

  /// What an aborted run leaves on disk, as a sentence.
  std::string leave_behind() {
    std::string text;
    const auto say = [&](const std::filesystem::path& path) {
      text += fmt::format("{}{}", text.empty() ? "\nWhat was computed until then is in " : " and ",
                          path.string());
    };
    if (trace_) {
      try {
        trace_->flush();
        if (!trace_->empty()) say(trace_->partial_path());
      } catch (const Error&) {  // the first failure is the one to report
      }
    }
    if (table_ && !table_->empty()) say(table_->partial_path());
    return text;
  }

  RunPlan plan_;
  const RunRequest& request_;
  Simulation simulation_;
  StopPoints stops_;
  std::optional<ChannelReader> reader_;
  ChannelList channels_;
  std::vector<double> cycle_values_;
  BudgetKeeper budget_;
  std::optional<BlipWatch> blip_;
  bool blip_started_ = false;
  StallWatch stall_;
  std::optional<SummaryAccumulator> tally_;
  std::optional<TraceWriter> trace_;
  std::optional<CycleTable> table_;
  Ending ending_ = Ending::complete;
  long rows_ = 0;
  unsigned long reported_ = 0;
};

/// All names before any is taken: what is refused must leave nothing.
void check_run_outputs(const RunRequest& request) {
  std::vector<std::filesystem::path> names;
  for (const auto& target : {request.csv, request.trace})
    if (target) {
      check_output(*target, request.force);
      check_partial(*target, request.force);
      names.push_back(*target);
      names.push_back(target->string() + ".partial");
    }
  check_distinct(names);
}

}  // namespace

Summary run_case(const ResolvedCase& resolved, const RunRequest& request) {
  check_run_outputs(request);
  Run run(resolved, request);
  return run.finish_after_running(resolved);
}

}  // namespace glassbowl::sim
