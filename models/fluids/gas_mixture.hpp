#pragma once
#include <array>
#include <cmath>
#include <cstddef>

#include "models/constants.hpp"
#include "models/fluids/fuel.hpp"

namespace glassbowl::models {

/// Species that gas volumes hold. Droplets are liquid fuel carried by the gas; their volume is neglected.
enum Species : std::size_t { air = 0, vapour = 1, droplets = 2, burned = 3 };
inline constexpr std::size_t species_count = 4;

template <class Real>
using PerSpecies = std::array<Real, species_count>;

/// Caloric data: u_i(T) = q_i + a_i T + b_i T²/2 [J/kg], that is cv = a + b T, and p V = Σ m_i R_i T.
/// The offsets q_i carry the chemical energy, so burning only moves mass between species and the energy
/// balance closes without a source term.
template <class Real>
struct GasData {
  PerSpecies<Real> R;  ///< [J/(kg K)] zero for droplets
  PerSpecies<Real> q;  ///< [J/kg]
  PerSpecies<Real> a;  ///< [J/(kg K)]
  PerSpecies<Real> b;  ///< [J/(kg K²)]
};

/// Internal energy of one species [J/kg].
template <class Real>
Real internal_energy(const GasData<Real>& gas, Species s, Real T) {
  return gas.q[s] + T * (gas.a[s] + Real(0.5) * gas.b[s] * T);
}

/// Enthalpy of one species [J/kg]: u + R T.
template <class Real>
Real enthalpy(const GasData<Real>& gas, Species s, Real T) {
  return internal_energy(gas, s, T) + gas.R[s] * T;
}

/// Caloric data for a fuel. Air: cv through u(300 K) = 214.07 and u(2200 K) = 1872.4 kJ/kg (ideal-gas air
/// table, Cengel & Boles, table A-17; the line misses u(1000 K) by 0.5 %). Burned gas: stoichiometric
/// products of CH1.87 from JANAF enthalpies at 298 and 2200 K, frozen (no dissociation). Offsets: complete
/// combustion of liquid fuel at 298.15 K and constant pressure releases the lower heating value.
template <class Real>
GasData<Real> make_gas_data(const Fuel<Real>& fuel) {
  GasData<Real> gas{};
  gas.R = {Real(constants::R_air), Real(constants::gas_constant) / fuel.vapour_molar_mass, Real(0),
           Real(289.7)};
  gas.a = {Real(669.1), fuel.vapour_cv, fuel.liquid_heat_capacity, Real(711.8)};
  gas.b = {Real(0.163), fuel.vapour_cv_slope, Real(0), Real(0.244)};
  gas.q = {};
  const Real T = Real(constants::T_reference);
  const Real s = fuel.stoichiometric_ratio;
  const Real liquid = fuel.heating_value + (1.0 + s) * enthalpy(gas, burned, T) - s * enthalpy(gas, air, T);
  gas.q[droplets] = liquid - enthalpy(gas, droplets, T);
  gas.q[vapour] = liquid + fuel.latent_heat - enthalpy(gas, vapour, T);
  return gas;
}

}  // namespace glassbowl::models
