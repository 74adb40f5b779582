#pragma once
#include <array>
#include <cmath>

#include "models/fluids/gas_mixture.hpp"
#include "models/part.hpp"

/// A well-mixed gas volume: airbox, mixing chamber, manifold, a cell of a runner, cylinder, exhaust port.
/// State: mass of each species and internal energy; temperature and pressure follow in closed form.
namespace glassbowl::models {

template <class Real>
struct VolumeState {
  PerSpecies<Real> mass;  ///< [kg]
  Real energy;            ///< [J]
};

/// Meanings of a volume's states, first those of the species.
inline constexpr std::array<StateMeaning, 5> volume_states{{
    {"air", "kg", "mass of air", 1e-5, 0.0, Holds::air},
    {"vapour", "kg", "mass of fuel vapour", 1e-6, 0.0, Holds::fuel},
    {"droplets", "kg", "mass of fuel droplets", 1e-6, 0.0, Holds::fuel},
    {"burned", "kg", "mass of burned gas and water vapour", 1e-5, 0.0},
    {"energy", "J", "internal energy including chemical energy", 3.0, unbounded, Holds::nothing, Kept::wide},
}};

/// Place of the energy, after those of the species.
inline constexpr std::size_t energy = species_count;

/// A volume's state in the flat vector: `slots` is its first there, the next, in the order of
/// `volume_states`, lie `apart` from one another.
template <class Real>
VolumeState<Real> volume_at(const Real* slots, std::size_t apart) {
  return {{slots[0], slots[apart], slots[2 * apart], slots[3 * apart]}, slots[4 * apart]};
}
template <class Real>
void put_volume(const VolumeState<Real>& state, Real* slots, std::size_t apart) {
  for (std::size_t i = 0; i < species_count; ++i) slots[i * apart] = state.mass[i];
  slots[energy * apart] = state.energy;
}

/// What neighbours see of a volume, and what flows out of it carry.
template <class Real>
struct Gas {
  Real pressure;              ///< [Pa]
  Real per_pressure;          ///< [1/Pa] its inverse
  Real temperature;           ///< [K]
  Real density;               ///< [kg/m³] all species over the volume
  Real specific_volume;       ///< [m³/kg] its inverse
  Real enthalpy;              ///< [J/kg] of the mixture, (U + pV)/m
  PerSpecies<Real> fraction;  ///< [kg/kg]
};

/// Temperature and pressure from masses and energy.
///   U = Q + A T + B T²/2  with Q, A, B summed over species;  p = Σ m R T / V          (E1)
/// Solved for T in the form that does not cancel for small B. NaN in, NaN out.
/// `per_volume` is 1/V, which a caller may know already.
template <class Real>
Gas<Real> evaluate_volume(const GasData<Real>& data, const VolumeState<Real>& state, Real volume,
                          Real per_volume) {
  using std::sqrt;
  Real m = 0, Q = 0, A = 0, B = 0, mR = 0;
  for (std::size_t i = 0; i < species_count; ++i) {
    m += state.mass[i];
    Q += state.mass[i] * data.q[i];
    A += state.mass[i] * data.a[i];
    B += state.mass[i] * data.b[i];
    mR += state.mass[i] * data.R[i];
  }
  const Real heat2 = 2.0 * (state.energy - Q);
  const Real cool = A + sqrt(A * A + B * heat2);  // T = heat2/cool
  // One division serves 1/m, T and 1/p.
  const Real mc = m * cool, Rh = mR * heat2;
  const Real inverse = 1.0 / (mc * Rh);
  const Real per_mc = inverse * Rh;
  const Real per_mass = cool * per_mc;
  Gas<Real> gas;
  gas.temperature = heat2 * m * per_mc;
  const Real pV = mR * gas.temperature;
  gas.per_pressure = volume * cool * (inverse * mc);
  gas.specific_volume = volume * per_mass;
  gas.pressure = pV * per_volume;
  gas.density = m * per_volume;
  gas.enthalpy = (state.energy + pV) * per_mass;
  for (std::size_t i = 0; i < species_count; ++i) gas.fraction[i] = state.mass[i] * per_mass;
  return gas;
}

template <class Real>
Gas<Real> evaluate_volume(const GasData<Real>& data, const VolumeState<Real>& state, Real volume) {
  return evaluate_volume(data, state, volume, 1.0 / volume);
}

/// What a flow carries with it.
template <class Real>
struct Carried {
  Real enthalpy;              ///< [J/kg]
  PerSpecies<Real> fraction;  ///< [kg/kg]
};

/// A flow carries the gas of the side it comes from: `a` where it goes forward, else `b`.
template <class Condition, class Real>
Carried<Real> carried(const Condition& forward, const Gas<Real>& a, const Gas<Real>& b) {
  Carried<Real> out;
  out.enthalpy = select(forward, a.enthalpy, b.enthalpy);
  for (std::size_t i = 0; i < species_count; ++i)
    out.fraction[i] = select(forward, a.fraction[i], b.fraction[i]);
  return out;
}

/// A volume of gas of given composition at p, T: used for starting values.
template <class Real>
VolumeState<Real> fill_volume(const GasData<Real>& data, Real volume, Real p, Real T,
                              const PerSpecies<Real>& fraction) {
  Real R = 0, u = 0;
  for (std::size_t i = 0; i < species_count; ++i) {
    R += fraction[i] * data.R[i];
    u += fraction[i] * internal_energy(data, static_cast<Species>(i), T);
  }
  const Real m = p * volume / (R * T);
  VolumeState<Real> state;
  for (std::size_t i = 0; i < species_count; ++i) state.mass[i] = m * fraction[i];
  state.energy = m * u;
  return state;
}

/// Gas of a boundary that does not change: the air outside.
template <class Real>
Gas<Real> boundary_gas(const GasData<Real>& data, Real p, Real T, const PerSpecies<Real>& fraction) {
  const VolumeState<Real> one = fill_volume(data, Real(1), p, T, fraction);
  return evaluate_volume(data, one, Real(1));
}

}  // namespace glassbowl::models
