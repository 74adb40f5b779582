#include <algorithm>
#include <limits>

#include "sim/api/live_bench.hpp"

namespace glassbowl::sim {
namespace {

constexpr double ahead = 0.02;  // [s] of wall time by which the fastest bike may lead
constexpr double late = 0.05;   // [s] of wall time behind which lost time is given up
constexpr double never = std::numeric_limits<double>::infinity();

}  // namespace

void LiveClock::anchor(double time) {
  wall_anchor_ = Wall::now();
  time_anchor_ = time;
}

double LiveClock::slowest() const {
  double least = never;
  for (const double t : times_) least = std::min(least, t);
  return least;
}

void LiveClock::set_rate(double rate) {
  const std::lock_guard lock(mutex_);
  rate_ = rate;
  anchor(slowest());
}

void LiveClock::set_paused(bool paused) {
  const std::lock_guard lock(mutex_);
  paused_ = paused;
  anchor(slowest());
}

std::size_t LiveClock::join() {
  const std::lock_guard lock(mutex_);
  times_.push_back(-never);
  return times_.size() - 1;
}

void LiveClock::leave(std::size_t bike) {
  const std::lock_guard lock(mutex_);
  times_[bike] = never;
}

void LiveClock::begin(std::size_t bike) {
  const std::lock_guard lock(mutex_);
  times_[bike] = -never;
}

double LiveClock::goal(std::size_t bike, double time) {
  const std::lock_guard lock(mutex_);
  times_[bike] = time;
  const double behind = slowest();
  if (paused_ || behind == -never) {
    anchor(behind);
    return -never;
  }
  if (time_anchor_ == -never || time_anchor_ == never) anchor(behind);
  const auto goal = [&] {
    return time_anchor_ + rate_ * std::chrono::duration<double>(Wall::now() - wall_anchor_).count();
  };
  if (goal() - behind > late * rate_ + 1e-3 || goal() < behind - 2 * late * rate_ - 1e-3) anchor(behind);
  return std::min(goal(), behind + ahead * rate_ + 1e-3);
}

}  // namespace glassbowl::sim
