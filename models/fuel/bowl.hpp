#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/fuel/tank_feed.hpp"
#include "models/numerics/elementary.hpp"
#include "models/numerics/select.hpp"
#include "models/numerics/smooth_root.hpp"
#include "models/part.hpp"

/// Float bowl with its float-operated needle valve. Heights are above the float datum (the bowl's
/// mating face). The float is followed quasi-statically: its balance of weight, buoyancy and the feed's
/// push on the needle gives the level at which the valve shuts.
///   h_shut = h_set + (p_feed - p_nominal) A_seat (l_n/l_f) / (ρ g A_float)                  (E1)
///   needle lift = (h_shut - h) l_n/l_f, limited                                              (E2)
/// Source  moment balance about the float's pin; derived.
namespace glassbowl::models {

template <class Real = double>
struct Bowl {
  Real area = Real(18e-4);           ///< [m²] free surface
  Real depth = Real(0.030);          ///< [m] floor below the datum
  Real level = Real(-0.004);         ///< [m] level in a clear tube with the valve just shut, nominal feed
  Real rim = Real(0.006);            ///< [m] overflow edge above the datum
  Real float_area = Real(7e-4);      ///< [m²] float's section at the surface
  Real lever_ratio = Real(0.35);     ///< [-] needle travel over float travel
  Real seat_bore = Real(2.3e-3);     ///< [m]
  Real seat_discharge = Real(0.65);  ///< [-]
  Real needle_angle = Real(1.05);    ///< [rad] full cone angle of the needle's tip
  Real nominal_feed = Real(2200.0);  ///< [Pa] feed pressure at which the level was measured
  Real float_error = Real(0.0);      ///< [m] level shift of a bent arm or sunk float
  Real needle_leak = Real(0.0);      ///< [m²] leak of a worn or dirty needle when shut
  bool vented_to_airbox = false;     ///< else to the air outside
  Real jet_offset = Real(0.0);       ///< [m] jets behind the middle of the bowl, along the ride
  Real surge = Real(0.0);            ///< [-] steady forward acceleration over g, or slope uphill
};

inline constexpr Metres needle_smoothing{2e-6};
inline constexpr Pascals inflow_smoothing{5.0};
inline constexpr Metres weir_width{4e-3};  ///< of the overflow

template <class Real>
struct BowlState {
  Real fuel;  ///< [kg]

  static constexpr auto states() {
    return list_states<Real, BowlState>(
        {{&BowlState::fuel, {"fuel", "kg", "fuel in the float bowl", 1e-3, 0.0, Holds::fuel, Kept::wide}}});
  }
};

/// Fuel level above the datum [m].
template <class Real>
Real bowl_level(const Bowl<Real>& bowl, Real mass, Real rho) {
  return mass / (rho * bowl.area) - bowl.depth;
}

/// Level that the jets see [m]: forward acceleration or an uphill slope tilts the surface, and jets behind
/// the middle of the bowl stand deeper by offset times a/g.
template <class Real>
Real level_at_jets(const Bowl<Real>& bowl, Real level) {
  return level + bowl.jet_offset * bowl.surge;
}

/// Open area of the needle's seat [m²] at a level h and static feed pressure [Pa].
template <class Real>
Real float_valve_area(const Bowl<Real>& bowl, Real h, Real static_feed, Real rho) {
  const Real seat = 0.25 * constants::pi * bowl.seat_bore * bowl.seat_bore;
  const Real shift = (static_feed - bowl.nominal_feed) * seat * bowl.lever_ratio /
                     (rho * as<Real>(constants::gravity) * bowl.float_area);
  const Real lift = (bowl.level + bowl.float_error + shift - h) * bowl.lever_ratio;
  const Real ring = constants::pi * bowl.seat_bore * sine(0.5 * bowl.needle_angle) *
                    smooth_positive_part(lift, as<Real>(needle_smoothing));
  // Ring and leak lie side by side, in series with the seat's bore: no leak passes more than that.
  using std::sqrt;
  const Real open = ring + bowl.needle_leak;
  return bowl.seat_discharge * open * seat / sqrt(open * open + seat * seat);
}

/// Flow from the tank into the bowl [kg/s]: tap, hose and seat in series under the feed pressure.
template <class Real>
Real bowl_inflow(Real feed_effective_area, Real seat_effective_area, Real pressure, Real rho) {
  using std::sqrt;
  const Real a = feed_effective_area * feed_effective_area;
  const Real b = seat_effective_area * seat_effective_area;
  const Real area = sqrt(a * b / (a + b + Real(1e-24)));
  return area * sqrt(2.0 * rho) * positive_part(smooth_root(pressure, as<Real>(inflow_smoothing)));
}

/// Overflow through the vent or standpipe once the level passes the rim [kg/s]: a weir 4 mm wide,
///   Q = 0.6 (2/3) b √(2 g) H^1.5.  Source  Francis-type weir, standard hydraulics.
template <class Real>
Real bowl_overflow(const Bowl<Real>& bowl, Real h, Real rho) {
  using std::sqrt;
  const Real H = positive_part(h - bowl.rim);
  return rho * 0.4 * as<Real>(weir_width) * sqrt(2.0 * as<Real>(constants::gravity)) * H * sqrt(H);
}

}  // namespace glassbowl::models
