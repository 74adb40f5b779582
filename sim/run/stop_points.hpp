#pragma once
#include <vector>

#include "sim/bike/bike.hpp"

namespace glassbowl::sim {

/// Stops closer together than this are one [s]: a shorter step would measure nothing but rounding.
inline constexpr double stop_merging = 1e-6;

/// Times that a step must not jump over: corners of the schedules of rider, load and air.
class StopPoints {
 public:
  StopPoints(const Bike<double>& bike, double duration);

  /// The next stop after `time`, or `target` if none lies clearly before it.
  double next(double time, double target);

 private:
  std::vector<double> times_;
  std::size_t at_ = 0;
};

}  // namespace glassbowl::sim
