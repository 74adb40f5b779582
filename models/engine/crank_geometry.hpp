#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/numerics/elementary.hpp"
#include "models/part.hpp"

/// Slider-crank: cylinder volume and its derivative over crank angle from firing top dead centre.
///   V = Vc + (π B²/4)(l + a - a cos θ - √(l² - a² sin² θ))                                 (E1)
/// Source  Heywood 1988, eqs. 2.4-2.6.
namespace glassbowl::models {

template <class Real = double>
struct CrankGeometry {
  Real bore = Real(0.080);
  Real stroke = Real(0.070);
  Real rod = Real(0.135);
  Real compression_ratio = Real(9.0);
};

template <class Real>
struct CrankState {
  Real angle;  ///< [rad]
  Real speed;  ///< [rad/s]

  static constexpr auto states() {
    using S = CrankState;
    return list_states<Real, S>({{&S::angle,
                                  {"angle", "rad", "crank angle from firing top dead centre of cylinder 1",
                                   1.0, unbounded, Holds::nothing, Kept::wide}},
                                 {&S::speed, {"speed", "rad/s", "crank speed", 100.0}}});
  }
};

template <class Real>
Real displacement(const CrankGeometry<Real>& c) {
  return 0.25 * constants::pi * c.bore * c.bore * c.stroke;
}

template <class Real>
struct CylinderVolume {
  Real volume;  ///< [m³]
  Real slope;   ///< [m³/rad] dV/dθ
};

/// Volume at firing top dead centre, Vc [m³].
template <class Real>
Real clearance_volume(const CrankGeometry<Real>& c) {
  return displacement(c) / (c.compression_ratio - 1.0);
}

/// `clearance` is Vc, which a caller may know already.
template <class Real>
CylinderVolume<Real> cylinder_volume(const CrankGeometry<Real>& c, Real clearance, Real theta) {
  using std::sqrt;
  const Real a = 0.5 * c.stroke;
  const Real area = 0.25 * constants::pi * c.bore * c.bore;
  const auto turned = sine_cosine(theta);
  const Real s = a * turned.sine;
  const Real k = a * turned.cosine;
  const Real root = sqrt(c.rod * c.rod - s * s);
  return {clearance + area * (c.rod + a - k - root), area * s * (1.0 + k / root)};
}

template <class Real>
CylinderVolume<Real> cylinder_volume(const CrankGeometry<Real>& c, Real theta) {
  return cylinder_volume(c, clearance_volume(c), theta);
}

}  // namespace glassbowl::models
