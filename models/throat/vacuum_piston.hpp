#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/numerics/elementary.hpp"
#include "models/numerics/select.hpp"
#include "models/part.hpp"

/// Vacuum-lifted piston of a constant-depression carburetor. The chamber above the diaphragm breathes
/// through holes in the piston from the throat; the space below is vented to the inlet. Lift positive up.
///   m ẍ = (p_below - p_chamber)(A_d - A_s) + (p_throat - p_chamber) A_s
///         - m g - F0 - k x - friction - stops                                          (E1)
///   V = V0 + A_d (x_max - x), isothermal at body temperature                           (E2)
/// A_d is the diaphragm's effective area, A_s that of the slide, whose underside sees the throat.
///
/// Dry friction F v/√(v² + v0²). The running engine shakes the piston by some a_v = 20 m/s²: a friction well
/// below m a_v is shaken loose and gives way at once (v0 = 20 mm/s), one above it sticks, and creeps by less
/// than v0 = 0.1 mm/s. Both speeds and a_v are assumptions without a published source. The response time τ
/// adds τ F/√(v² + v0²) to the mass, so that friction stops the piston within τ and never throws it back
/// within a step. Where the piston stands still the net force is zero and τ plays no part.
///
/// Source  force and mass balance, derived; behaviour as in period workshop descriptions.
namespace glassbowl::models {

template <class Real = double>
struct VacuumPiston {
  Real mass = Real(0.045);                ///< [kg] piston with needle
  Real diaphragm_diameter = Real(0.058);  ///< [m] effective
  Real slide_diameter = Real(0.038);      ///< [m] piston where it enters the bore, equals the bore
  Real travel = Real(0.036);              ///< [m] stop to stop
  Real rest_gap = Real(0.0012);           ///< [m] opening below the piston on its lower stop
  Real spring_preload = Real(0.9);        ///< [N]
  Real spring_rate = Real(30.0);          ///< [N/m]
  Real vent_diameter = Real(0.0022);      ///< [m] each hole in the piston
  Real vent_count = Real(2);              ///< [-]
  Real vent_discharge = Real(0.7);        ///< [-]
  Real chamber_volume = Real(35e-6);      ///< [m³] at full lift
  Real guide_friction = Real(0.05);       ///< [N] dry friction; a sticking piston has more
  Real guide_damping = Real(0.6);         ///< [N s/m]
  Real torn_area = Real(0.0);             ///< [m²] hole in the diaphragm, 0 = sound
  Real stop_stiffness = Real(5.0e5);      ///< [N/m] of the stops: they hardly give; no published source
};

inline constexpr Acceleration shaking{20.0};  ///< a_v
inline constexpr Speed creep_speed{1e-4};     ///< v0 of a friction that sticks
inline constexpr Speed loose_speed{0.0199};   ///< added to v0 where it is shaken loose
inline constexpr Metres stop_contact{5e-5};   ///< depth over which a stop's damping comes in

template <class Real>
struct VacuumPistonState {
  Real lift;         ///< [m]
  Real velocity;     ///< [m/s]
  Real chamber_air;  ///< [kg]

  static constexpr auto states() {
    using S = VacuumPistonState;
    return list_states<Real, S>(
        {{&S::lift, {"lift", "m", "lift of the vacuum piston from its lower stop", 1e-3, -2e-3}},
         {&S::velocity, {"velocity", "m/s", "velocity of the vacuum piston, upward", 0.1}},
         {&S::chamber_air,
          {"chamber_air", "kg", "air in the chamber above the diaphragm", 1e-5, 0.0, Holds::air}}});
  }
};

/// Throat area below the piston [m²]: segment of the round bore opened to height rest_gap + lift.
template <class Real>
Real piston_throat_area(const VacuumPiston<Real>& piston, Real lift) {
  using std::sqrt;
  const Real r = 0.5 * piston.slide_diameter;
  const Real h = clamp(piston.rest_gap + positive_part(lift), Real(0), piston.slide_diameter);
  const Real u = (r - h) / r;
  return r * r * arc_cosine(u) - (r - h) * sqrt(positive_part(2.0 * r * h - h * h));
}

template <class Real>
Real piston_chamber_volume(const VacuumPiston<Real>& piston, Real lift) {
  const Real A = 0.25 * constants::pi * piston.diaphragm_diameter * piston.diaphragm_diameter;
  return piston.chamber_volume + A * (piston.travel - lift);
}

/// Acceleration of the piston [m/s²]. `response` [s] is τ; 0 for the plain balance (E1).
template <class Real>
Real piston_acceleration(const VacuumPiston<Real>& piston, Real lift, Real velocity, Real p_below,
                         Real p_chamber, Real p_throat, Real response = Real(0)) {
  using std::sqrt;
  const Real A_d = 0.25 * constants::pi * piston.diaphragm_diameter * piston.diaphragm_diameter;
  const Real A_s = 0.25 * constants::pi * piston.slide_diameter * piston.slide_diameter;
  const Real weight = piston.mass * as<Real>(constants::gravity);
  const Real spring = piston.spring_preload + piston.spring_rate * lift;
  const Real shaken = Real(1.0) - smooth_step(piston.guide_friction / (as<Real>(shaking) * piston.mass));
  const Real creep = as<Real>(creep_speed) + as<Real>(loose_speed) * shaken;
  const Real dry = piston.guide_friction / sqrt(velocity * velocity + creep * creep);
  const Real friction = (dry + piston.guide_damping) * velocity;
  // Compliant, damped stops: contact over a fraction of a millimetre instead of a jump.
  const Real below = positive_part(-lift);
  const Real above = positive_part(lift - piston.travel);
  const Real damping = 0.7 * sqrt(piston.stop_stiffness * piston.mass);
  const Real soft = smooth_step((below + above) / as<Real>(stop_contact));
  const Real stop = piston.stop_stiffness * (below - above) - soft * damping * velocity;
  const Real force =
      (p_below - p_chamber) * (A_d - A_s) + (p_throat - p_chamber) * A_s - weight - spring - friction + stop;
  return force / (piston.mass + response * dry);
}

}  // namespace glassbowl::models
