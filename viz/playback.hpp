#pragma once
#include "viz/source/source.hpp"

namespace glassbowl::viz {

/// The clock of a replay: where it stands, how fast it goes.
class Playback {
 public:
  static constexpr double slowest = 1.0 / 2000.0;

  double time = 0.0;
  double rate = 1.0 / 20.0;  ///< simulated seconds per second
  bool playing = false;
  bool loop_cycle = false;

  /// Moves on by `wall` seconds; stops at the end of what there is, or repeats one engine cycle.
  void advance(double wall, Source& source);
  void step_angle(double radians, Source& source);
  void step_cycles(int count, Source& source);
  void set_rate(double rate_wanted);
  void go_to(double t, Source& source);

 private:
  double cycle_start_ = 0.0, cycle_end_ = 0.0;
};

/// Time at which the crank angle of a run passes `angle` [rad], by search; the nearest end when it never
/// does.
double time_of_angle(Source& source, double angle);

}  // namespace glassbowl::viz
