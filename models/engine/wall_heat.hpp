#pragma once
#include <cmath>

#include "models/numerics/elementary.hpp"

/// Heat transfer from cylinder gas to its walls.
namespace glassbowl::models {

/// Coefficient [W/(m² K)]: h = 130 V^-0.06 p^0.8 T^-0.4 (c_m + 1.4)^0.8, V [m³], p [bar], T [K], mean piston
/// speed [m/s]. Source  Hohenberg, SAE 790825 (1979). Valid for firing engines of 0.3 to 1 l per cylinder.
template <class Real>
Real hohenberg_coefficient(Real volume, Real pressure, Real temperature, Real piston_speed) {
  const Real push = pressure * 1e-5 * (piston_speed + 1.4);
  return 130.0 * exponential(0.4 * logarithm(push * push / temperature) - 0.06 * logarithm(volume));
}

/// Woschni's coefficient [W/(m² K)]: 3.26 B^-0.2 p^0.8 T^-0.55 w^0.8, B [m], p [kPa], T [K], gas velocity w
/// [m/s]. Source  Woschni, SAE 670931 (1967), SI form of Heywood 1988, eq. 12.19. Kept for comparison.
template <class Real>
Real woschni_coefficient(Real bore, Real pressure, Real temperature, Real velocity) {
  return 3.26 * exponential(-0.2 * logarithm(bore) + 0.8 * logarithm(pressure * 1e-3 * velocity) -
                            0.55 * logarithm(temperature));
}

}  // namespace glassbowl::models
