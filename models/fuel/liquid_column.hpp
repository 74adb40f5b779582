#pragma once
#include "models/numerics/select.hpp"
#include "models/numerics/unit_constant.hpp"

/// Liquid in a vertical passage that ends at an outlet above: it fills, spills over, drains back and must
/// fill again before it delivers. Shared by the main riser and the slow passage.
namespace glassbowl::models {

/// Rate of a flow with inertance I [1/m] under a net pressure [Pa], d(drive - loss)/d(flow) = -slope:
///   dṁ/dt = net / (I + τ slope)                                                            (E1)
/// τ keeps stiff passages from answering faster than τ, as in `restriction_rate`; in steady flow the
/// net is zero and τ plays no part.
template <class Real>
Real column_rate(Real net, Real inertance, Real slope, Real response) {
  return net / (inertance + response * slope);
}

inline constexpr PerMetre per_mouth{500.0};  ///< a mouth draws air over the last 2 mm
inline constexpr MassFlow outflow_smoothing{1e-7};

/// Share of a passage's mouth that lies in liquid, when the surface stands `depth` [m] above it: it draws
/// air instead over the last 2 mm. Never quite zero, so that it can divide; what passes then,
/// under 1e-13 kg/s, is nothing in any ride.
template <class Real>
Real wetted_share(Real depth) {
  return smooth_step(depth * as<Real>(per_mouth)) + Real(1e-12);
}

/// Mass flow over the outlet [kg/s] when `inflow` enters at the foot, `held` is in the passage and
/// `full` is what the passage holds when its surface reaches the outlet. Excess leaves, and a deficit
/// fills, within `transit` [s]; nothing leaves while the surface stands below the outlet.
template <class Real>
Real column_outflow(Real inflow, Real held, Real full, Real transit) {
  return smooth_positive_part(inflow + (held - full) / transit, as<Real>(outflow_smoothing));
}

}  // namespace glassbowl::models
