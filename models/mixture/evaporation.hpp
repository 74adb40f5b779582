#pragma once
#include "models/fluids/fuel.hpp"
#include "models/numerics/select.hpp"

/// Exchange between droplets and vapour in a gas volume.
namespace glassbowl::models {

inline constexpr Kelvins nothing_liquid{900.0};  ///< above, the rate grows no more
inline constexpr PerKelvin per_drop_time_temperature{1.0 / 300.0};

/// Evaporation rate [kg/s], negative for condensation.
///   dm/dt = (m_d g⁺ - m_v g⁻)/τ (T/300 K)³,  g = (p_s - p_v)/(p_s + p_v)                    (E1)
/// p_v from the vapour present, p_s at the fraction already evaporated. Near equilibrium it is linear in
/// the pressure deficit; far from it the droplets vanish within τ.
///   drop_time τ [s] lifetime of the droplets in dry air of 300 K (their square-law time)
/// The cube stands for the growth of the heat-limited rate, ln(1 + cp (T - T_drop)/L), about tenfold from
/// 300 to 600 K: it dries the charge during compression. Held above 900 K, where nothing liquid is left.
/// Source  d² law as a first-order rate (Lefebvre, Atomization and Sprays, 1989, ch. 9); its temperature
/// dependence an own fit to ln(1 + B); equilibrium from `vapour_pressure`.
template <class Real>
Real evaporation_rate(const Fuel<Real>& fuel, Real droplet_mass, Real vapour_mass, Real T, Real per_volume,
                      Real vapour_gas_constant, Real per_drop_time) {
  const Real fuel_mass = droplet_mass + vapour_mass + Real(1e-15);
  const Real p_v = vapour_mass * vapour_gas_constant * T * per_volume;
  const Real p_s = vapour_pressure(fuel, T, clamp(vapour_mass / fuel_mass, Real(0), Real(1)));
  const Real g = (p_s - p_v) / (p_s + p_v);
  const Real warm = min(T, as<Real>(nothing_liquid)) * as<Real>(per_drop_time_temperature);
  return (positive_part(g) * droplet_mass - positive_part(-g) * vapour_mass) * warm * warm * warm *
         per_drop_time;
}

}  // namespace glassbowl::models
