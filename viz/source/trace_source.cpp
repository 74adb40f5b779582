#include "viz/source/trace_source.hpp"

#include <limits>

namespace glassbowl::viz {
namespace {

constexpr auto look_again = std::chrono::milliseconds(250);

std::filesystem::path choose(const std::filesystem::path& path) {
  std::error_code ignored;
  const auto partial = std::filesystem::path(path.string() + ".partial");
  return !std::filesystem::exists(path, ignored) && std::filesystem::exists(partial, ignored) ? partial
                                                                                              : path;
}

}  // namespace

TraceSource::TraceSource(const std::filesystem::path& path, std::size_t most_blocks)
    : trace_(choose(path)),
      cache_(most_blocks),
      channels_(trace_.channels(sim::Dimension::time)),
      cycle_channels_(trace_.channels(sim::Dimension::cycle)),
      geometry_(sim::read_geometry(trace_.case_resolved())),
      rows_(trace_.rows()),
      cycles_(trace_.cycles()),
      running_(trace_.status() == "running"),
      looked_(std::chrono::steady_clock::now()) {}

double TraceSource::at(std::size_t channel, const std::string& name, std::size_t row) {
  const auto& block = cache_.block(trace_, channel, name, row / BlockCache::block_rows);
  const std::size_t in = row % BlockCache::block_rows;
  return in < block.size() ? block[in] : std::numeric_limits<double>::quiet_NaN();
}

double TraceSource::row_time(std::size_t row) {
  static const std::string time = "time";
  return at(channels_.size(), time, row);
}

double TraceSource::value(int channel, std::size_t row) {
  const auto c = static_cast<std::size_t>(channel);
  return at(c, channels_[c].name, row);
}

void TraceSource::read(int channel, std::size_t row, std::span<double> values) {
  const auto c = static_cast<std::size_t>(channel);
  for (std::size_t i = 0; i < values.size(); ++i) values[i] = at(c, channels_[c].name, row + i);
}

void TraceSource::read_cycles(int channel, std::size_t first, std::span<double> values) {
  auto& column = cycle_columns_[channel];
  if (column.size() != cycles_) {
    column.resize(cycles_);
    column.resize(trace_.read_into(cycle_channels_[static_cast<std::size_t>(channel)].name, 0, column));
    column.resize(cycles_, std::numeric_limits<double>::quiet_NaN());
  }
  for (std::size_t i = 0; i < values.size(); ++i)
    values[i] = first + i < column.size() ? column[first + i] : std::numeric_limits<double>::quiet_NaN();
}

void TraceSource::refresh() {
  const auto now = std::chrono::steady_clock::now();
  if (!running_ || now - looked_ < look_again) return;
  looked_ = now;
  trace_.refresh();
  running_ = trace_.status() == "running";
  if (trace_.rows() != rows_ || trace_.cycles() != cycles_) cache_.forget_partial();
  rows_ = trace_.rows();
  cycles_ = trace_.cycles();
}

}  // namespace glassbowl::viz
