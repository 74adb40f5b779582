#pragma once
#include <array>
#include <cstdint>
#include <vector>

#include "viz/cutaway/gas_speed.hpp"
#include "viz/cutaway/stage.hpp"

namespace glassbowl::viz {

/// Fuel that one dot stands for [kg].
inline constexpr double fuel_per_dot = 40e-9;

struct Particle {
  bool engine = false;   ///< in manifold or runner, else in the bore
  std::size_t lane = 0;  ///< cylinder, in the engine
  double place = 0.0;    ///< [m] x in the bore, or way along the lane
  double before = 0.0;   ///< [m] place one picture ago
  float share = 0.0F;    ///< -1 .. 1 across the section
  float chance = 0.0F;   ///< its own number 0 .. 1
  Hue hue = Hue::air;    ///< air, or the circuit that delivered it
  bool fresh = true;     ///< set where it cannot have come from by moving
};

/// Marks carried by the gas at computed speeds: a fixed number of air marks, and fuel dots that leave each
/// outlet as often as its flow says. A fuel dot is full while its fuel is still droplets and hollow once it
/// has evaporated, in the share computed for the volume it is in; in the runners it may land on the film.
class Particles {
 public:
  Particles(const CarburetorPlan& bore, const EnginePlan& engine, std::size_t air_marks);

  void advance(const Signals& signals, const Instant& now, double dt);
  /// Forgets all fuel and lets the last moments before `now` run, as after a jump in time.
  void settle(const Signals& signals, Source& source, double time);

  void draw_bore(Canvas& canvas, const Stage& stage, const Theme& theme) const;
  void draw_engine(Canvas& canvas, const Stage& stage, const Theme& theme) const;

  /// Fewer marks, and more fuel a dot, where a computer draws too slowly: 1 is all, 4 a quarter.
  void thin_out(unsigned times);
  double dot_mass() const { return fuel_per_dot * thinned_; }  ///< [kg]

  const std::vector<Particle>& all() const { return particles_; }
  const GasSpeed& speed() const { return speed_; }

 private:
  bool move(Particle& particle, double dt);
  void emit(const Signals& signals, const Instant& now, double dt);
  void release(double x, double share, Hue hue, double flow, double dt, std::size_t outlet, bool spread);
  void respawn(Particle& particle);
  std::size_t choose_lane();
  double chance();
  Point place(const Stage& stage, const Particle& particle, double at) const;
  void draw(Canvas& canvas, const Stage& stage, const Theme& theme, bool engine) const;
  double liquid_share(const Particle& particle) const;

  const CarburetorPlan& bore_;
  const EnginePlan& engine_;
  GasSpeed speed_;
  std::vector<Particle> particles_;
  std::size_t air_marks_, all_air_marks_;
  unsigned thinned_ = 1;
  std::array<double, 16> waiting_{};  // fuel of each outlet that is not yet a dot, in dots
  double liquid_mixing_ = 1.0, liquid_manifold_ = 1.0;
  std::vector<double> liquid_runner_, landing_;
  std::uint64_t random_ = 0x9e3779b97f4a7c15ULL;
};

}  // namespace glassbowl::viz
