#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/numerics/select.hpp"

/// The narrow part of the bore, fixed venturi or the gap below a vacuum-lifted piston: how far the static
/// pressure falls below the stagnation pressure for a mass flow, and what of it is lost.
namespace glassbowl::models {

template <class Real = double>
struct Venturi {
  Real diameter = Real(0.030);  ///< [m] fixed venturi; a piston throat takes its area from the lift
  Real discharge = Real(0.90);  ///< [-] 0.80 to 0.94 in textbook problems
  Real loss = Real(0.25);       ///< [-] unrecovered share of the throat's dynamic pressure
  Real signal = Real(1.0);      ///< [-] depression at the fuel nozzle over that of the throat (a small
                                ///<     secondary venturi gives more than 1)
};

/// Throat depression below stagnation [Pa] for a mass flow through effective area CdA.
/// Inverse of the isentropic law D(z) = x, x = ṁ²/(2 ρ0 CdA² p0), for γ = 1.4, where
///   D(z) = z - a z² + O(z⁴),  a = 15/14;   z = 2x / (1 + √(1 - 4 a x))                    (E1)
/// Within 1 % up to Mach 0.6 (tested against the closed form); continued linearly beyond x = 0.2, where
/// no carburetor works. Always positive: either flow direction depresses the throat, so reversed flow
/// draws fuel again.
template <class Real>
Real throat_depression(Real mass_flow, Real rho, Real p, Real CdA) {
  using std::sqrt;
  const Real x = 0.5 * mass_flow * mass_flow / (rho * CdA * CdA * p);
  const Real s = min(x, Real(0.20));
  const Real z = 2.0 * s / (1.0 + sqrt(1.0 - 4.0 * 15.0 / 14.0 * s));
  return p * (z + (x - s));
}

}  // namespace glassbowl::models
