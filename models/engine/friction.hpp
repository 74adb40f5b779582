#pragma once
#include <cmath>

#include "models/numerics/select.hpp"

/// Engine friction as a mean effective pressure.
namespace glassbowl::models {

template <class Real = double>
struct Friction {
  Real constant = Real(0.40e5);     ///< [Pa]
  Real linear = Real(0.09e5);       ///< [Pa/(m/s)] of mean piston speed
  Real quadratic = Real(0.0009e5);  ///< [Pa/(m/s)²]
  Real per_peak = Real(0.005);      ///< [-] times peak cylinder pressure
  Real peak_pressure = Real(35e5);  ///< [Pa] at which the last term is taken
  Real cold_factor = Real(1.0);     ///< [-] 1 warm; 2 to 4 cold (common practice, no published source)
};

/// Friction mean effective pressure [Pa] at mean piston speed [m/s].
/// Source  Chen & Flynn, SAE 650733 (1965), in the SI form with constants A 0.4, B 0.005, C 0.09, D 0.0009
/// (bar, m/s) in common use; from memory.
template <class Real>
Real friction_mep(const Friction<Real>& f, Real piston_speed) {
  return f.cold_factor *
         (f.constant + f.per_peak * f.peak_pressure + piston_speed * (f.linear + f.quadratic * piston_speed));
}

/// Total motored friction of car engines of 0.85 to 2 l, pumping included [Pa], N in 1/min.
/// Source  Barnes-Moss 1975 in Heywood 1988, eq. 13.6. Kept for comparison.
template <class Real>
Real barnes_moss_mep(Real rpm) {
  const Real k = rpm / 1000.0;
  return 1e5 * (0.97 + 0.15 * k + 0.05 * k * k);
}

}  // namespace glassbowl::models
