#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/numerics/schedule.hpp"
#include "models/numerics/select.hpp"

/// What the crankshaft drives.
namespace glassbowl::models {

enum class LoadKind { held_speed, neutral, in_gear };

template <class Real = double>
struct Load {
  LoadKind kind = LoadKind::neutral;
  Schedule<Real> speed;             ///< [rad/s] over time [s], for held speed; first value starts the others
  Real released = Real(-1e9);       ///< [s] neutral and in gear: speed is held until this time
  Real vehicle_mass = Real(280.0);  ///< [kg] with rider
  Real drag_area = Real(0.55);      ///< [m²] Cd A
  Real rolling = Real(0.015);       ///< [-]
  Real overall_ratio = Real(7.0);   ///< [-] crank over wheel speed
  Real wheel_radius = Real(0.31);   ///< [m]
  Real driveline_efficiency = Real(0.93);  ///< [-]
  Real gradient = Real(0.0);               ///< [-] rise over run
};

/// Whether the speed is imposed at time t.
template <class Real>
auto speed_is_held(const Load<Real>& load, Real t) {
  return t < select(load.kind == LoadKind::held_speed, Real(1e300), load.released);
}

/// Vehicle inertia felt at the crank [kg m²].
template <class Real>
Real reflected_inertia(const Load<Real>& load) {
  const Real lever = load.wheel_radius / load.overall_ratio;
  return load.vehicle_mass * lever * lever;
}

/// Torque that the road asks of the crank [N m] at crank speed [rad/s] and air density [kg/m³].
template <class Real>
Real road_torque(const Load<Real>& load, Real omega, Real air_density) {
  const Real lever = load.wheel_radius / load.overall_ratio;
  const Real v = omega * lever;
  const Real force = 0.5 * air_density * load.drag_area * v * v +
                     load.vehicle_mass * as<Real>(constants::gravity) * (load.rolling + load.gradient);
  return force * lever / load.driveline_efficiency;
}

}  // namespace glassbowl::models
