#pragma once
#include <optional>
#include <vector>

#include "sim/solver/simulation.hpp"

namespace glassbowl::sim {

/// How engine, pump and piston answer over time: samples of one simulation.
class ResponseTrack {
 public:
  static constexpr double interval = 1e-3;  ///< [s] between samples

  struct Point {
    double time, value;
  };

  explicit ResponseTrack(const Simulation& simulation);

  void reserve(double seconds);
  void sample(const Simulation& simulation);
  bool due(double time) const { return time_.empty() || time >= time_.back() + 0.999 * interval; }
  double last() const { return time_.empty() ? -1e300 : time_.back(); }

  /// Speed [rad/s], or torque [N m] where the speed is held: means over one whole engine cycle each, at the
  /// middle of it, one per sample. So the beat of single cylinders does not pass for a rise.
  std::vector<Point> cycle_means() const;
  /// How long the first whole cycle took [s].
  std::optional<double> first_cycle() const;
  bool measures_torque() const { return torque_; }

  std::vector<Point> pump_delivered() const { return points(pump_); }  ///< [kg] since the run's start
  std::vector<Point> piston_lift() const { return points(lift_); }     ///< [m]

 private:
  std::vector<Point> points(const std::vector<double>& values) const;

  bool torque_;
  std::vector<double> time_, angle_, work_, pump_, lift_;
};

/// First time at or after `from` at which a curve rises through `level`; linear between points.
std::optional<double> first_rise(const std::vector<ResponseTrack::Point>& curve, double from, double level);

/// Value of a curve at a time, held constant outside; NaN if it has no points.
double value_at(const std::vector<ResponseTrack::Point>& curve, double time);

}  // namespace glassbowl::sim
