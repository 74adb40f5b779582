#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/numerics/elementary.hpp"
#include "models/numerics/select.hpp"

/// Cold-start plate at the carburetor's inlet. Closed it starves all circuits' air and so raises the
/// depression at every one; a spring-loaded relief opens once the engine draws.
namespace glassbowl::models {

template <class Real = double>
struct ChokePlate {
  bool fitted = true;                 ///< constant-depression carburetors have an enrichment circuit instead
  Real bore = Real(0.042);            ///< [m]
  Real closed_area = Real(45e-6);     ///< [m²] gap of the closed plate
  Real relief_area = Real(120e-6);    ///< [m²] relief fully open
  Real relief_pressure = Real(2500);  ///< [Pa] drop at which the relief is half open
  Real discharge = Real(0.65);        ///< [-]
};

/// Effective area [m²] at closure 0 (open) .. 1 (shut) and pressure drop across the plate [Pa].
/// The open area falls as 1 - sin of the plate's angle; open, the bare bore with a blade in it.
template <class Real>
Real choke_effective_area(const ChokePlate<Real>& choke, Real closure, Real drop) {
  const Real bore_area = 0.25 * constants::pi * choke.bore * choke.bore;
  const Real open = 1.0 - sine(0.5 * constants::pi * clamp(closure, Real(0), Real(1)));
  const Real relief =
      smooth_step(0.5 * drop / choke.relief_pressure) * choke.relief_area * clamp(closure, Real(0), Real(1));
  const Real f = choke.discharge * open;
  return bore_area * f / (1.0 - f) + choke.discharge * (choke.closed_area + relief);
}

}  // namespace glassbowl::models
