#pragma once
#include <span>
#include <vector>

#include "viz/source/source.hpp"

namespace glassbowl::viz {

/// Who hears an engine, and where.
struct Listener {
  double distance = 1.0;       ///< [m] from exhaust outlet and air inlet
  double sound_speed = 343.0;  ///< [m/s]
  double cutoff = 0.0;         ///< [Hz] of a first-order low pass for what lies between; 0: none
};

/// Sound of a mass flow that enters the free field at one small place, a monopole:
///   p(t) = 1/(4 pi r) d(mdot)/dt at t - r/c
/// Source  Vigran, Building Acoustics, 2008, eq. 3.37, from memory.
/// `flow` [kg/s] at `times` [s], rising; the result [Pa] at `count` times from `from` on, `step` [s] apart.
/// The flow is a cubic through its values with a continuous derivative; outside `times` there is silence.
std::vector<double> monopole_pressure(std::span<const double> times, std::span<const double> flow,
                                      const Listener& listener, double from, double step, std::size_t count);

/// A first-order low pass, [Hz] at samples `step` [s] apart, that goes on from piece to piece.
class LowPass {
 public:
  void apply(std::span<double> samples, double cutoff, double step);

 private:
  double last_ = 0.0;
};

/// What a run sounds like: the flow out of the exhaust and that into the air inlet.
class EngineSound {
 public:
  explicit EngineSound(Source& source);
  bool known() const { return outlet_ != no_channel || inlet_ != no_channel; }

  /// Sound pressure [Pa] at `count` simulated times from `from` on, `step` [s] apart.
  std::vector<double> pressure(double from, double step, std::size_t count);

  Listener listener;

 private:
  Source& source_;
  int outlet_, inlet_;
  LowPass low_pass_;
};

/// Level [dB] of a sound pressure's root mean square against 20 micropascals.
double sound_level(std::span<const double> pressure);

}  // namespace glassbowl::viz
