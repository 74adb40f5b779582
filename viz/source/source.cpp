#include "viz/source/source.hpp"

#include <algorithm>
#include <cmath>
#include <limits>

namespace glassbowl::viz {
namespace {

int find_in(const std::vector<sim::Channel>& channels, std::string_view name) {
  const auto at =
      std::find_if(channels.begin(), channels.end(), [&](const auto& c) { return c.name == name; });
  return at == channels.end() ? no_channel : static_cast<int>(at - channels.begin());
}

}  // namespace

int Source::find(std::string_view name) const {
  return find_in(channels(), name);
}
int Source::find_cycle(std::string_view name) const {
  return find_in(cycle_channels(), name);
}

std::size_t Source::row_at(double time) {
  std::size_t low = first_row(), high = end_row() - 1;
  if (time <= row_time(low)) return low;
  if (time >= row_time(high)) return high;
  // Rows are evenly spaced but for few: look there first.
  const double t0 = row_time(low), t1 = row_time(high);
  const double guess = (time - t0) / (t1 - t0) * static_cast<double>(high - low);
  const std::size_t near = std::min(low + static_cast<std::size_t>(std::max(0.0, guess)), high - 1);
  for (const std::size_t row : {near, near > low ? near - 1 : near, near + 1})
    if (row < high && row_time(row) <= time && time < row_time(row + 1)) return row;
  while (high - low > 1) {
    const std::size_t middle = low + (high - low) / 2;
    (row_time(middle) <= time ? low : high) = middle;
  }
  return low;
}

std::ptrdiff_t Source::cycle_at(double time) {
  const int start = find_cycle("cycle_start");
  std::size_t low = 0, high = cycles();
  if (start == no_channel) return -1;
  while (low < high) {  // first cycle that begins after `time`
    const std::size_t middle = low + (high - low) / 2;
    double begins = 0.0;
    read_cycles(start, middle, {&begins, 1});
    begins <= time ? low = middle + 1 : high = middle;
  }
  return static_cast<std::ptrdiff_t>(low) - 1;
}

Instant::Instant(Source& source, double time) : source_(&source), time_(time), has_rows_(!source.empty()) {
  if (!has_rows_) return;
  row_ = source.row_at(time);
  if (row_ + 1 >= source.end_row()) return;
  const double t0 = source.row_time(row_), t1 = source.row_time(row_ + 1);
  if (t1 > t0) share_ = std::clamp((time - t0) / (t1 - t0), 0.0, 1.0);
}

double Instant::operator[](int channel) const {
  if (channel == no_channel || !has_rows_) return std::numeric_limits<double>::quiet_NaN();
  const double first = source_->value(channel, row_);
  if (share_ == 0.0) return first;
  const double second = source_->value(channel, row_ + 1);
  if (std::isnan(second)) return share_ < 0.5 ? first : second;
  if (std::isnan(first)) return share_ < 0.5 ? first : second;
  return first + share_ * (second - first);
}

double Instant::cycle(int channel) const {
  double value = std::numeric_limits<double>::quiet_NaN();
  if (channel == no_channel || !has_rows_) return value;
  const std::ptrdiff_t number = source_->cycle_at(time_);
  if (number >= 0) source_->read_cycles(channel, static_cast<std::size_t>(number), {&value, 1});
  return value;
}

}  // namespace glassbowl::viz
