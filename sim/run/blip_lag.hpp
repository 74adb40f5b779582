#pragma once
#include <limits>
#include <memory>
#include <string>
#include <vector>

#include "sim/run/response_track.hpp"
#include "sim/run/throttle_movement.hpp"
#include "sim/solver/simulation.hpp"

namespace glassbowl::sim {

/// How long the engine keeps its rider waiting after a sudden opening of the throttle. What was not reached
/// or does not apply is NaN.
struct BlipLag {
  static constexpr double unknown = std::numeric_limits<double>::quiet_NaN();

  double start = unknown, end = unknown;    ///< [s] of the movement and of what is judged
  bool torque = false;                      ///< judged by torque (speed held), else by speed
  double before = unknown, peak = unknown;  ///< [rad/s or N m] yardstick's value before and at its highest

  // Start of the movement to 10, 50 and 90 % of the yardstick's rise [s].
  double rise_10 = unknown, rise_50 = unknown, rise_90 = unknown;
  double yardstick_10 = unknown, yardstick_50 = unknown, yardstick_90 = unknown;
  // What the carburetor cost: rise less that of the yardstick [s].
  double lag_10 = unknown, lag_50 = unknown, lag_90 = unknown;

  double leanest = unknown, richest = unknown;  ///< [-] trapped lambda after the start
  double lean_area = 0.0;                       ///< [s] lambda beyond 1.15 over time, worst cylinder
  long misfires = 0;
  double lift_50 = unknown;        ///< [s] vacuum piston: half of its rise
  double pump_volume = unknown;    ///< [m³] delivered after the start
  double pump_duration = unknown;  ///< [s] from 5 to 95 % of it
  std::string note;                ///< why figures are missing, empty if none are
};

/// Watches one run through its throttle movement, and runs the yardstick: the same engine from the same
/// state, given air with a steady ideal mixture (lambda 0.88, fuel already vapour, no film, no fuel left in
/// the intake) from the start of the movement on.
///
/// Use: `sample` often from `begin_watching()` on; `start` exactly at the movement's start, after a
/// sample; `finish` once at the end. The yardstick runs in a thread of its own on its own copy, so
/// threads do not change the figures.
class BlipWatch {
 public:
  static constexpr double ideal_lambda = 0.88;    ///< [-] near best torque
  static constexpr double lean = 1.15;            ///< [-] beyond this, an excursion
  static constexpr double leanest_counted = 2.0;  ///< [-] in the area: leaner does not burn any less

  BlipWatch(const Simulation& simulation, const ThrottleMovement& movement);
  ~BlipWatch();
  BlipWatch(const BlipWatch&) = delete;
  BlipWatch& operator=(const BlipWatch&) = delete;

  double begin_watching() const;
  bool watching(double time) const { return time >= begin_watching() && time <= movement_.end; }
  bool due(double time) const { return track_.due(time); }
  double next_sample() const { return track_.last() + ResponseTrack::interval; }
  const ThrottleMovement& movement() const { return movement_; }

  void sample(const Simulation& simulation);
  void start(const Simulation& simulation);
  BlipLag finish(const Simulation& simulation);

 private:
  struct Yardstick;
  void judge_response(BlipLag& out, const ResponseTrack& ideal) const;
  void judge_pump_and_piston(BlipLag& out, const Simulation& simulation) const;

  ThrottleMovement movement_;
  ResponseTrack track_;
  std::unique_ptr<Yardstick> yardstick_;
  std::vector<Trapped> charge_;  // trapped last, per cylinder
  std::vector<bool> counts_;     // trapped after the start
  std::vector<double> lean_area_;
  double leanest_ = BlipLag::unknown, richest_ = BlipLag::unknown;
  long misfires_before_ = 0, misfires_ = 0;
};

/// Takes all fuel out of the intake upstream of the valves and puts air of the same volume in its place.
void clear_intake_of_fuel(Simulation& simulation);

}  // namespace glassbowl::sim
