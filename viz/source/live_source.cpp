#include "viz/source/live_source.hpp"

#include <algorithm>
#include <limits>

namespace glassbowl::viz {
namespace {

constexpr std::size_t kept_cycles = 2000;

}  // namespace

LiveSource::LiveSource(const std::string& given, const std::vector<std::string>& sets,
                       std::shared_ptr<sim::LiveClock> clock)
    : bench_(given, sets, std::move(clock)),
      title_(bench_.title() + " (live)"),
      geometry_(bench_.geometry()),
      times_(kept_rows),
      columns_(bench_.channels().size()) {
  for (auto& column : columns_) column.resize(kept_rows);
}

double LiveSource::value(int channel, std::size_t row) {
  return static_cast<double>(columns_[static_cast<std::size_t>(channel)][row % kept_rows]);
}

void LiveSource::read(int channel, std::size_t row, std::span<double> values) {
  for (std::size_t i = 0; i < values.size(); ++i) values[i] = value(channel, row + i);
}

void LiveSource::read_cycles(int channel, std::size_t first, std::span<double> values) {
  for (std::size_t i = 0; i < values.size(); ++i)
    values[i] = first + i < cycles_.size() ? cycles_[first + i][static_cast<std::size_t>(channel)]
                                           : std::numeric_limits<double>::quiet_NaN();
}

void LiveSource::refresh() {
  if (!bench_.take(batch_)) return;
  const std::size_t n = columns_.size();
  for (std::size_t i = 0; i < batch_.times.size(); ++i) {
    // After a restart time begins again; rows of the run before would lie out of order.
    if (end_ > 0 && batch_.times[i] <= times_[(end_ - 1) % kept_rows]) {
      end_ = 0;
      cycles_.clear();
    }
    const std::size_t at = end_ % kept_rows;
    times_[at] = batch_.times[i];
    for (std::size_t c = 0; c < n; ++c) columns_[c][at] = batch_.values[i * n + c];
    ++end_;
  }
  const std::size_t m = bench_.cycle_channels().size();
  for (std::size_t i = 0; i < batch_.cycles; ++i) {
    const auto from = batch_.cycle_values.begin() + static_cast<std::ptrdiff_t>(i * m);
    cycles_.emplace_back(from, from + static_cast<std::ptrdiff_t>(m));
  }
  while (cycles_.size() > kept_cycles) cycles_.pop_front();
  if (batch_.geometry) geometry_ = *batch_.geometry, ++changes_;
  achieved_ = batch_.achieved_rate;
  stalled_ = batch_.stalled;
  recording_ = batch_.recording;
  controls_ = batch_.controls;
  key_changes_ = batch_.changes;
  handled_ = batch_.handled;
  if (batch_.restarted) blip_.reset();
  if (batch_.blip) blip_ = batch_.blip;
  messages_.insert(messages_.end(), batch_.messages.begin(), batch_.messages.end());
}

}  // namespace glassbowl::viz
