#pragma once
#include "models/constants.hpp"
#include "models/numerics/elementary.hpp"

namespace glassbowl::models {

/// A liquid fuel as the circuits and the engine see it. All values at the temperatures they are used at
/// follow from these by the functions below.
template <class Real = double>
struct Fuel {
  Real density_20 = Real(745.0);     ///< [kg/m³] at 20 °C
  Real density_slope = Real(-0.90);  ///< [kg/(m³ K)]; API MPMS 11.1, from memory
  Real kinematic_viscosity_20 =
      Real(0.55e-6);                       ///< [m²/s] at 20 °C; US DOE Alternative Fuels Data Center table
  Real viscosity_exponent = Real(913.7);   ///< [K] law through the table's -20 and 20 °C values
  Real surface_tension = Real(0.021);      ///< [N/m] near 20 °C
  Real heating_value = Real(43.44e6);      ///< [J/kg] lower, liquid fuel to gaseous products; AFDC table
  Real latent_heat = Real(350.0e3);        ///< [J/kg]
  Real stoichiometric_ratio = Real(14.6);  ///< [kg air/kg fuel]
  Real liquid_heat_capacity = Real(2200.0);  ///< [J/(kg K)]
  Real vapour_molar_mass = Real(0.0972);     ///< [kg/mol]
  Real vapour_cv = Real(1240.0);             ///< [J/(kg K)] constant part of vapour cv
  Real vapour_cv_slope = Real(1.2);          ///< [J/(kg K²)]
  Real boiling_first = Real(331.0);  ///< [K] equilibrium boiling temperature of the fresh liquid at 1 atm
  Real boiling_linear = Real(68.0);  ///< [K] rise over the evaporated fraction, linear part
  Real boiling_last = Real(19.0);    ///< [K] rise toward the last fractions, fifth power
  Real vaporisation_slope = Real(4210.0);  ///< [K] molar heat of vaporisation over the gas constant
};

/// Density of the liquid [kg/m³] at T [K].
template <class Real>
Real liquid_density(const Fuel<Real>& fuel, Real T) {
  return fuel.density_20 + fuel.density_slope * (T - 293.15);
}

/// Kinematic viscosity of the liquid [m²/s] at T [K]: ν20 exp(b (1/T - 1/293.15)).
template <class Real>
Real liquid_kinematic_viscosity(const Fuel<Real>& fuel, Real T) {
  return fuel.kinematic_viscosity_20 * exponential(fuel.viscosity_exponent * (1.0 / T - 1.0 / 293.15));
}

/// Vapour pressure [Pa] over liquid of which the fraction f [0..1] has evaporated, at T [K].
///   p_s = 1 atm exp(-B (1/T - 1/T_b(f))),  T_b = T0 + T1 f + T5 f⁵
/// A one-curve stand-in for a multi-component equilibrium flash; its three constants are fitted to
/// Raoult's law for a five-component mixture (see tests/published), not to any engine result.
template <class Real>
Real vapour_pressure(const Fuel<Real>& fuel, Real T, Real f) {
  const Real f2 = f * f;
  const Real boiling = fuel.boiling_first + f * (fuel.boiling_linear + fuel.boiling_last * f2 * f2);
  return as<Real>(constants::one_atmosphere) *
         exponential(fuel.vaporisation_slope * (T - boiling) / (boiling * T));
}

}  // namespace glassbowl::models
