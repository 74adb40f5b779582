#include "sim/run/stop_points.hpp"

#include <algorithm>

namespace glassbowl::sim {
namespace {

constexpr double earliest = -1e4;  // [s] before any run

}  // namespace

StopPoints::StopPoints(const Bike<double>& bike, double duration) {
  for (const auto* schedule : {&bike.rider.throttle, &bike.rider.choke, &bike.rider.tap, &bike.rider.starter,
                               &bike.load.speed, &bike.air.altitude})
    for (const auto& [x, y] : schedule->points())
      if (x > earliest && x < duration) times_.push_back(x);
  if (bike.load.released > earliest && bike.load.released < duration) times_.push_back(bike.load.released);
  std::sort(times_.begin(), times_.end());
}

double StopPoints::next(double time, double target) {
  while (at_ < times_.size() && times_[at_] <= time + stop_merging) ++at_;
  return at_ < times_.size() && times_[at_] < target - stop_merging ? times_[at_] : target;
}

}  // namespace glassbowl::sim
