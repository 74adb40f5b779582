#pragma once
#include "models/constants.hpp"
#include "models/numerics/schedule.hpp"
#include "models/numerics/select.hpp"

/// Tapered needle in its jet: the annulus that meters the main fuel of a constant-depression carburetor.
namespace glassbowl::models {

template <class Real = double>
struct Needle {
  Real jet_diameter = Real(2.60e-3);  ///< [m] needle jet
  Real jet_wear = Real(0.0);          ///< [m] enlargement of the jet by wear, on the diameter
  Real raised = Real(0.0);            ///< [m] clip or shim: how far the needle sits above its standard place
  Real discharge = Real(0.70);        ///< [-]
  Schedule<Real> diameter{{{0.0, 2.5e-3}, {0.036, 1.8e-3}}};  ///< [m] over distance along the needle from the
                                                              ///< jet's mouth at zero lift, standard place
};

/// Free annulus area [m²] at a piston lift: (π/4)(Dj² - dn(lift + raised)²), never negative.
template <class Real>
Real needle_annulus_area(const Needle<Real>& needle, Real lift) {
  const Real jet = needle.jet_diameter + needle.jet_wear;
  const Real d = needle.diameter(positive_part(lift) + needle.raised);
  return 0.25 * constants::pi * positive_part(jet * jet - d * d);
}

}  // namespace glassbowl::models
