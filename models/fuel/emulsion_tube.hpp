#pragma once
#include <cmath>
#include <cstddef>
#include <vector>

#include "models/constants.hpp"
#include "models/numerics/select.hpp"

/// Air-bled tube in the main well: rows of holes that uncover one after another as the level falls.
namespace glassbowl::models {

template <class Real = double>
struct HoleRow {
  Real height;    ///< [m] of the hole's centre above the float datum (negative: below)
  Real diameter;  ///< [m]
  Real count;     ///< [-]
};

template <class Real = double>
struct EmulsionTube {
  std::vector<HoleRow<Real>> rows;
  Real discharge = Real(0.65);  ///< [-] of a hole
  Real plugged = Real(0.0);     ///< [-] share of hole area lost to dirt
};

/// A row of holes, as far as it does not change.
template <class Real>
struct HoleMeasures {
  Real top;           ///< [m] of the hole above the float datum
  Real per_diameter;  ///< [1/m]
  Real area;          ///< [m²] effective, of all its holes
};

template <class Real>
std::vector<HoleMeasures<Real>> measure_holes(const EmulsionTube<Real>& tube) {
  std::vector<HoleMeasures<Real>> out;
  for (const auto& row : tube.rows)
    out.push_back({row.height + 0.5 * row.diameter, 1.0 / row.diameter,
                   tube.discharge * (1.0 - tube.plugged) * row.count * 0.25 * constants::pi * row.diameter *
                       row.diameter});
  return out;
}

/// Effective hole area above the level h [m²]. A hole uncovers over its own diameter.
template <class Real>
Real uncovered_area(const std::vector<HoleMeasures<Real>>& rows, Real h) {
  Real area = 0;
  for (const auto& row : rows) area += row.area * smooth_step((row.top - h) * row.per_diameter);
  return area;
}

template <class Real>
Real uncovered_area(const EmulsionTube<Real>& tube, Real h) {
  return uncovered_area(measure_holes(tube), h);
}

/// What is left of a pressure difference after surface tension at the holes has taken its toll: nothing
/// below about 4σ/d, the difference less 4σ/d above it. Odd and smooth.
/// Source  Laplace pressure of a bubble at a hole.
template <class Real>
Real after_capillarity(Real difference, Real capillary) {
  using std::sqrt;
  return difference * (1.0 - capillary / sqrt(difference * difference + capillary * capillary + Real(1e-12)));
}

}  // namespace glassbowl::models
