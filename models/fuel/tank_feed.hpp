#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/numerics/select.hpp"
#include "models/numerics/smooth_root.hpp"
#include "models/part.hpp"

/// Gravity feed: tank, tap, strainer and hose up to the float needle's seat.
namespace glassbowl::models {

template <class Real = double>
struct TankFeed {
  Real head = Real(0.30);          ///< [m] fuel surface above the float's seat with a full tank
  Real tank_area = Real(0.07);     ///< [m²] mean section: how fast the head falls
  Real fuel_volume = Real(12e-3);  ///< [m³] in the tank at the start
  Real tap_bore = Real(5.0e-3);    ///< [m] tap fully open
  Real hose_bore = Real(6.0e-3);   ///< [m]
  Real discharge = Real(0.6);      ///< [-] of tap and hose ends
  Real dry_volume = Real(50e-6);   ///< [m³] the outlet runs dry below about this
};

/// A full tank's kilograms would round off the milligrams that leave it: the state is their change.
template <class Real>
struct TankState {
  Real fuel_change;  ///< [kg]

  static constexpr auto states() {
    return list_states<Real, TankState>(
        {{&TankState::fuel_change,
          {"fuel_change", "kg", "change of the fuel in the tank since the start", 1.0, unbounded, Holds::fuel,
           Kept::wide}}});
  }
};

/// Effective area of tap and hose in series [m²] at tap opening 0..1.
template <class Real>
Real feed_area(const TankFeed<Real>& feed, Real opening) {
  const Real tap = feed.discharge * 0.25 * constants::pi * feed.tap_bore * feed.tap_bore *
                   clamp(opening, Real(0), Real(1));
  const Real hose = feed.discharge * 0.25 * constants::pi * feed.hose_bore * feed.hose_bore;
  using std::sqrt;
  return tap * hose / sqrt(tap * tap + hose * hose);
}

/// Share of the tank's outlet that lies in fuel: even under suction a dry tank gives none.
template <class Real>
Real feed_wetted(const TankFeed<Real>& feed, Real tank_mass, Real rho) {
  return smooth_step(tank_mass / rho / feed.dry_volume);
}

/// Pressure at the seat with no flow [Pa above the tank's air]: ρ g (head - fall of the surface). Falls
/// to zero as the tank runs dry.
template <class Real>
Real feed_pressure(const TankFeed<Real>& feed, Real tank_mass, Real rho) {
  const Real volume = tank_mass / rho;
  const Real height = feed.head - (feed.fuel_volume - volume) / feed.tank_area;
  return rho * as<Real>(constants::gravity) * positive_part(height) * feed_wetted(feed, tank_mass, rho);
}

}  // namespace glassbowl::models
