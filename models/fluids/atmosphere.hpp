#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/numerics/elementary.hpp"

namespace glassbowl::models {

/// Air outside the engine: what the filter and the exhaust pipe see.
template <class Real = double>
struct Ambient {
  Real pressure;            ///< [Pa] absolute
  Real temperature;         ///< [K]
  Real humidity = Real(0);  ///< [kg/kg] water vapour in moist air
};

/// Standard atmosphere below 11 km at geopotential altitude H [m]; `warmer` [K] shifts the temperature
/// only, as a warm or cold day does at the same station pressure.
///   T = T0 - L H,  p = p0 (T/T0)^(g0/(R L))                                          (E1)
/// Source  ISO 2533:1975, clause 2 (equals US Standard Atmosphere 1976 in this range).
template <class Real>
Ambient<Real> standard_atmosphere(Real altitude, Real warmer = Real(0)) {
  namespace c = constants;
  const Real T = c::T_sea_level - c::lapse_rate * altitude;
  const Real p = c::p_sea_level * power(T / c::T_sea_level, Real(c::g0 / (c::R_air * c::lapse_rate)));
  return {p, T + warmer, Real(0)};
}

/// Saturation pressure of water [Pa] over liquid at T [K].
/// Source  Buck 1996 (research manual), from memory; valid about -40 to 50 °C.
template <class Real>
Real water_saturation_pressure(Real T) {
  const Real t = T - 273.15;
  return 611.21 * exponential((18.678 - t / 234.5) * t / (257.14 + t));
}

/// Water mass fraction of moist air [kg/kg] at relative humidity 0..1.
template <class Real>
Real moist_air_water_fraction(Real relative_humidity, Real T, Real p) {
  const Real e = relative_humidity * water_saturation_pressure(T);
  const Real w = 0.62198 * e / (p - e);  // kg per kg of dry air
  return w / (1.0 + w);
}

/// Density of moist air [kg/m³]: (p - 0.37802 e) / (R T), e the vapour pressure.
template <class Real>
Real moist_air_density(Real relative_humidity, Real T, Real p) {
  const Real e = relative_humidity * water_saturation_pressure(T);
  return (p - 0.37802 * e) / (constants::R_air * T);
}

/// Dynamic viscosity of air [Pa s], Sutherland's law. Source  US Standard Atmosphere 1976, eq. 51.
template <class Real>
Real air_viscosity(Real T) {
  using std::sqrt;
  return 1.458e-6 * T * sqrt(T) / (T + 110.4);
}

}  // namespace glassbowl::models
