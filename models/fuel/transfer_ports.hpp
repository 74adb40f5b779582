#pragma once
#include <cmath>
#include <vector>

#include "models/constants.hpp"
#include "models/numerics/elementary.hpp"
#include "models/numerics/select.hpp"

/// Row of small ports above the closed plate's edge. While covered they stand in the bore's upstream air
/// and bleed it in; as the plate's edge sweeps past they come under the manifold's depression and deliver.
namespace glassbowl::models {

template <class Real = double>
struct TransferPort {
  Real position;           ///< [m] of its centre, upstream of the throttle shaft's plane
  Real diameter;           ///< [m]
  Real plugged = Real(0);  ///< [-] share of area lost to dirt
};

/// Discharge coefficient of a small drilled port [-]; common practice, no published source.
inline constexpr double port_discharge = 0.65;

/// Share of a port that lies downstream of the plate's edge, 0 covered .. 1 exposed: area of the circle
/// cut by a chord at depth h.  A = r² acos((r-h)/r) - (r-h) √(2rh - h²)
template <class Real>
Real port_exposure(const TransferPort<Real>& port, Real edge_position) {
  using std::sqrt;
  const Real r = 0.5 * port.diameter;
  const Real h = clamp(edge_position - (port.position - r), Real(0), 2.0 * r);
  const Real u = (r - h) / r;
  return (arc_cosine(u) - u * sqrt(positive_part(1.0 - u * u))) / constants::pi;
}

/// Static pressure at a covered port [Pa]. Air converges on the slot between edge and wall like a plane
/// sink, so its velocity a distance s upstream is g/(g + π s/2) of that in the slot:
///   p = p_up - (p_up - p_down)' (g/(g + π s/2))²,  the drop limited to the critical one
/// Source  plane sink flow, derived.
template <class Real>
Real covered_port_pressure(Real p_up, Real p_down, Real gap, Real distance) {
  const Real drop = clamp(p_up - p_down, Real(0), 0.47 * p_up);
  const Real s = positive_part(distance);
  const Real ratio = gap / (gap + 0.5 * constants::pi * s + Real(1e-6));
  return p_up - drop * ratio * ratio;
}

}  // namespace glassbowl::models
