#include "viz/playback.hpp"

#include <algorithm>
#include <cmath>

namespace glassbowl::viz {
namespace {

constexpr double cycle_angle = 4.0 * 3.14159265358979323846;

}  // namespace

double time_of_angle(Source& source, double angle) {
  const int channel = source.find("crank_angle");
  if (channel == no_channel || source.empty()) return source.first_time();
  std::size_t low = source.first_row(), high = source.end_row() - 1;
  if (angle <= source.value(channel, low)) return source.row_time(low);
  if (angle >= source.value(channel, high)) return source.row_time(high);
  while (high - low > 1) {
    const std::size_t middle = low + (high - low) / 2;
    (source.value(channel, middle) <= angle ? low : high) = middle;
  }
  const double a0 = source.value(channel, low), a1 = source.value(channel, high);
  const double t0 = source.row_time(low), t1 = source.row_time(high);
  return a1 > a0 ? t0 + (t1 - t0) * (angle - a0) / (a1 - a0) : t0;
}

void Playback::set_rate(double wanted) {
  rate = std::clamp(wanted, slowest, 1.0);
}

void Playback::go_to(double t, Source& source) {
  time = std::clamp(t, source.first_time(), source.last_time());
}

void Playback::advance(double wall, Source& source) {
  if (!playing || source.empty()) return;
  if (!loop_cycle) cycle_start_ = cycle_end_ = 0.0;
  if (loop_cycle && (time < cycle_start_ || time >= cycle_end_)) {
    const double angle = Instant(source, time)[source.find("crank_angle")];
    const double first = cycle_angle * std::floor(angle / cycle_angle);
    cycle_start_ = time_of_angle(source, first);
    cycle_end_ = time_of_angle(source, first + cycle_angle);
  }
  time += wall * rate;
  if (loop_cycle && cycle_end_ > cycle_start_ && time >= cycle_end_)
    time = cycle_start_ + std::fmod(time - cycle_start_, cycle_end_ - cycle_start_);
  if (time >= source.last_time()) {
    time = source.last_time();
    if (!source.running()) playing = false;
  }
}

void Playback::step_angle(double radians, Source& source) {
  if (source.empty()) return;
  playing = false;
  const double angle = Instant(source, time)[source.find("crank_angle")];
  if (std::isfinite(angle)) go_to(time_of_angle(source, angle + radians), source);
}

void Playback::step_cycles(int count, Source& source) {
  step_angle(count * cycle_angle, source);
}

}  // namespace glassbowl::viz
