#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/numerics/elementary.hpp"
#include "models/numerics/select.hpp"

/// Tapered screw in the idle outlet.
namespace glassbowl::models {

template <class Real = double>
struct MixtureScrew {
  Real turns = Real(1.75);               ///< [-] out from lightly seated
  Real pitch = Real(0.5e-3);             ///< [m]
  Real seat_bore = Real(1.0e-3);         ///< [m]
  Real taper = Real(0.24);               ///< [rad] full angle of the tip
  Real discharge = Real(0.65);           ///< [-]
  Real outlet_position = Real(-1.0e-3);  ///< [m] upstream of the throttle shaft's plane; negative: downstream
};

/// Effective area of the idle outlet [m²]: seat less the tip's section at the present lift.
template <class Real>
Real mixture_screw_area(const MixtureScrew<Real>& screw) {
  const auto half = sine_cosine(0.5 * screw.taper);
  const Real D = screw.seat_bore;
  const Real tip = positive_part(D - 2.0 * screw.turns * screw.pitch * half.sine / half.cosine);
  return screw.discharge * 0.25 * constants::pi * (D * D - tip * tip);
}

}  // namespace glassbowl::models
