#pragma once
#include <array>

#include "models/constants.hpp"
#include "sim/network/network.hpp"

/// Intermediate values of one evaluation, handed from one group of parts to the next.
namespace glassbowl::sim {

inline constexpr std::size_t max_cylinders = 8;

template <class Real>
struct Network<Real>::Work {
  Real outside_pressure;
  Real choke_area, throat;                       ///< [m²] effective
  std::array<Real, max_cylinders> volume_slope;  ///< [m³/rad]
};

template <class Real>
Real circle(Real diameter) {
  return 0.25 * m::constants::pi * diameter * diameter;
}

/// Effective area of one face of a runner [m²]: wall friction and bend lumped as one velocity head over
/// the whole length, shared by the faces.
template <class Real>
Real runner_face_area(Real diameter, std::size_t cells) {
  using std::sqrt;
  return circle(diameter) * sqrt(Real(static_cast<double>(cells)));
}

}  // namespace glassbowl::sim
