#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/numerics/elementary.hpp"
#include "models/numerics/select.hpp"

/// Poppet valve: lift over crank angle and effective flow area over lift.
namespace glassbowl::models {

template <class Real = double>
struct Valve {
  Real diameter = Real(0.038);     ///< [m] head
  Real seat_ratio = Real(0.90);    ///< [-] inner seat (port) over head diameter
  Real lift = Real(0.0085);        ///< [m] greatest
  Real opens = Real(5.93);         ///< [rad] crank angle from firing top dead centre
  Real closes = Real(10.38);       ///< [rad]
  Real count = Real(1);            ///< [-] equal valves per cylinder
  Real clearance_error = Real(0);  ///< [m] extra lash, takes lift away
};

/// Lift [m] at crank angle 0..4π: sin² over the open period, continuous in slope at both ends. `per_period`
/// is the inverse [1/rad] of that period.
template <class Real>
Real valve_lift(const Valve<Real>& valve, Real per_period, Real theta) {
  const Real cycle = Real(4.0 * constants::pi);
  Real s = theta - valve.opens;
  s = select(s < Real(0), s + cycle, s);
  s = s * per_period;
  const auto open = s < Real(1);
  if (none(open)) return Real(0);
  const Real k = half_wave(min(s, Real(1)));
  return select(open, positive_part(valve.lift * k * k - valve.clearance_error), Real(0));
}

template <class Real>
Real valve_lift(const Valve<Real>& valve, Real theta) {
  return valve_lift(valve, 1.0 / (valve.closes - valve.opens), theta);
}

/// Discharge coefficient on curtain area over lift/diameter: parabola 0.69 - 2.6 (L/D)², within 0.04 of the
/// typical curve up to L/D 0.35. Source  Heywood 1988, fig. 6-18, read from memory (±10 %).
template <class Real>
Real valve_discharge(Real lift_over_diameter) {
  return 0.69 - 2.6 * lift_over_diameter * lift_over_diameter;
}

/// Effective area Cd π D L of all equal valves [m²], not above 0.85 of the port's section. `ratio` is lift
/// over diameter.
template <class Real>
Real valve_effective_area_at(const Valve<Real>& valve, Real ratio) {
  // The parabola times lift peaks at L/D = √(0.69/7.8); from there on the curtain is held.
  const Real held = min(ratio, Real(0.2974));
  const Real curtain = valve_discharge(held) * constants::pi * valve.diameter * valve.diameter * held;
  const Real port = valve.seat_ratio * valve.diameter;
  return valve.count * min(curtain, Real(0.85 * 0.25 * constants::pi) * port * port);
}

template <class Real>
Real valve_effective_area(const Valve<Real>& valve, Real lift) {
  return valve_effective_area_at(valve, lift / valve.diameter);
}

}  // namespace glassbowl::models
