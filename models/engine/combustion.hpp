#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/numerics/elementary.hpp"
#include "models/numerics/schedule.hpp"
#include "models/numerics/select.hpp"

/// Single-zone combustion by a Wiebe function, with duration and ignitability from what was trapped.
namespace glassbowl::models {

template <class Real = double>
struct Combustion {
  Schedule<Real> advance;             ///< spark [rad before top dead centre] over speed [rad/s]
  Real retard_error = Real(0);        ///< [rad] late ignition
  Real delay_share = Real(0.22);      ///< [-] spark to start of burn, share of the duration
  Real duration = Real(0.90);         ///< [rad] whole burn at lambda 1, no residual
  Real residual_slowing = Real(2.2);  ///< [-] duration grows by 1 + k y_r
  Real inhomogeneity = Real(0.09);    ///< [-] standard deviation of local equivalence ratio
  Real lean_limit = Real(1.45);       ///< [-] lambda at which half of the charge fails to light, no residual
  Real lean_limit_residual = Real(1.2);  ///< [-] the limit falls by this times residual fraction above 0.1
  Real rich_limit = Real(0.52);          ///< [-]
  Real limit_width = Real(0.02);         ///< [-]
  Real weak_spark = Real(0);  ///< [-] draws both limits together at lambda 0.95; 0 = healthy, 1 = dead
};

/// Burn-rate constants of the Wiebe function x = 1 - exp(-a s^(m+1)), a = 5, m = 2.
/// Source  Heywood 1988, sec. 9.2.3.
inline constexpr double wiebe_a = 5.0;
inline constexpr double wiebe_m = 2.0;

/// Burned fraction at s = (θ - θ0)/Δθ.
template <class Real>
Real wiebe_fraction(Real s) {
  const Real c = positive_part(s);
  return 1.0 - exponential(-wiebe_a * c * c * c);
}

/// Rate at which unburned mass burns, per unit s: x'/(1 - x) = a (m+1) s^m. Used instead of x itself so
/// that burning acts on the mass that is there. Ends at s = 1.35, where all but 5e-6 has burned.
template <class Real>
Real wiebe_hazard(Real s) {
  const Real inside = select(s < Real(1.35), Real(1), Real(0));
  const Real c = positive_part(s);
  return inside * (wiebe_a * (wiebe_m + 1.0)) * c * c;
}

/// Duration factor over lambda, shortest near 0.85: 2.2 λ² - 3.74 λ + 2.54.
/// Source  Csallner, TU Munich 1981, from memory.
template <class Real>
Real duration_factor(Real lambda) {
  const Real c = clamp(lambda, Real(0.5), Real(1.8));
  return 2.2 * c * c - 3.74 * c + 2.54;
}

/// Fuel that can burn [kg] when local mixture strength scatters about its mean with standard deviation
/// σ φ: E[min(φ, 1)] over a normal distribution, times air/s. All of a lean charge's fuel, all of a rich
/// charge's air, less at stoichiometry: this is why best power lies rich of it.
///   E = φ Φ(u) + (1 - Φ(u)) - σφ n(u),  u = (1 - φ)/(σφ)                                   (E1)
/// with the logistic approximation of Φ (error below 0.01) integrated exactly:
///   E = 1 - w ln(1 + exp((1 - φ)/w)),  w = 0.5513 σφ.
/// Source  derived; the trend (peak torque at λ 0.85 to 0.92) is Heywood 1988, fig. 15-4.
template <class Real>
Real burnable_fuel(Real fuel_mass, Real air_mass, Real stoichiometric, Real inhomogeneity) {
  const Real phi = fuel_mass * stoichiometric / (air_mass + Real(1e-15));
  const Real w = 0.5513 * inhomogeneity * (phi + Real(1e-6));
  const Real e = clamp((1.0 - phi) / w, Real(-40.0), Real(40.0));
  const Real burned_share = 1.0 - w * logarithm(1.0 + exponential(e));
  return positive_part(min(burned_share, phi)) * air_mass / stoichiometric;
}

/// Share of the charge that lights, 0..1, from lambda of the vapour at the spark and residual fraction.
/// Source  limits: Heywood 1988, sec. 9.5; lambda 0.5 to 1.6 overall; dependence on residual a linear fit.
template <class Real>
Real ignited_share(const Combustion<Real>& c, Real lambda, Real residual) {
  const Real lean = c.lean_limit - c.lean_limit_residual * positive_part(residual - Real(0.1));
  // Drawn past each other by their width, so that a dead spark lights nothing.
  const Real lean_weak = lean - c.weak_spark * (lean - (Real(0.95) - c.limit_width));
  const Real rich_weak = c.rich_limit + c.weak_spark * (Real(0.95) + c.limit_width - c.rich_limit);
  const Real a = smooth_step((lean_weak - lambda) / (2.0 * c.limit_width) + 0.5);
  const Real b = smooth_step((lambda - rich_weak) / (2.0 * c.limit_width) + 0.5);
  return a * b;
}

}  // namespace glassbowl::models
