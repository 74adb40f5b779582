#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/numerics/elementary.hpp"
#include "models/numerics/select.hpp"

/// Butterfly throttle plate in a round bore. Angles from the plane square to the bore; the plate rests
/// against the bore at `closed_angle`. Its rising edge sweeps upstream past the transfer ports.
namespace glassbowl::models {

template <class Real = double>
struct ThrottlePlate {
  Real bore = Real(0.036);           ///< [m]
  Real shaft = Real(0.008);          ///< [m] shaft diameter, 0 = none
  Real closed_angle = Real(0.1396);  ///< [rad] at which the plate would seal
  Real open_angle = Real(1.5708);    ///< [rad] wide open
  Real contraction = Real(0.65);     ///< [-] jet contraction at the plate's edges
  Real leak_area = Real(0.4e-6);     ///< [m²] gap of the closed plate and bypass
};

/// Geometric open area over bore area [-] at plate angle psi.
///   1 - c/c0 + 2/π [a √(1-x²) + (c/c0) asin x - a √(1-a²) - asin a],  x = a c0/c        (E1)
/// with c = cos ψ, c0 = cos ψ0, a = shaft/bore; for x >= 1 the shaft limits.
/// Source  Heywood 1988, eqs. 7.18-7.20 (from memory); signs verified by numerical integration.
template <class Real>
Real throttle_open_fraction(const ThrottlePlate<Real>& plate, Real psi) {
  using std::sqrt;
  const Real a = plate.shaft / plate.bore;
  const Real c0 = cosine(plate.closed_angle);
  const Real c = max(cosine(psi), Real(1e-9));
  const Real shaft_terms = a * sqrt(1.0 - a * a) + arc_sine(a);
  const Real x = min(a * c0 / c, Real(1));
  const Real ratio = min(c / c0, a / max(x, Real(1e-12)));
  const Real free =
      1.0 - c / c0 + 2.0 / constants::pi * (a * sqrt(1.0 - x * x) + ratio * arc_sine(x) - shaft_terms);
  const Real limited = 1.0 - 2.0 / constants::pi * shaft_terms;
  return positive_part(select(a * c0 >= c, limited, free));
}

/// Effective area for pressure loss [m²]: jet of contraction Cc, then sudden expansion to the bore,
///   √ζ = 1/(Cc f) - 1,  A_e = A / √ζ = A Cc f / (1 - Cc f),  f the open fraction          (E2)
/// Source  Borda-Carnot; with Cc 0.63 to 0.70 it is Weisbach's measured butterfly loss (20 to 65 deg).
template <class Real>
Real throttle_effective_area(const ThrottlePlate<Real>& plate, Real psi) {
  const Real bore_area = 0.25 * constants::pi * plate.bore * plate.bore;
  const Real f = plate.contraction * throttle_open_fraction(plate, psi);
  return bore_area * f / (1.0 - f) + plate.contraction * plate.leak_area;
}

/// Upstream position of the rising edge from the shaft's plane [m]: (D/2) sin ψ / cos ψ0.
template <class Real>
Real throttle_edge_position(const ThrottlePlate<Real>& plate, Real psi) {
  return 0.5 * plate.bore * sine(psi) / cosine(plate.closed_angle);
}

/// Gap between edge and bore wall [m]: (D/2)(1 - cos ψ/cos ψ0).
template <class Real>
Real throttle_edge_gap(const ThrottlePlate<Real>& plate, Real psi) {
  return positive_part(0.5 * plate.bore * (1.0 - cosine(psi) / cosine(plate.closed_angle)));
}

}  // namespace glassbowl::models
