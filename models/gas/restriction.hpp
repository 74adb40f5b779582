#pragma once
#include <cmath>

#include "models/gas/flow_function.hpp"
#include "models/part.hpp"

/// A gas passage with a restriction in it: filter, carburetor bore, throttle plate, runner face, valve,
/// tail pipe. One law for all of them: a gas column of inertance I = ∫dx/A drives through an effective
/// area A_e, choking and reversing.
///   (I + τ ṁ*/(ρ A_e²)) dṁ/dt = p0 D(z) - ṁ|ṁ| / (2 ρ A_e²),  ṁ*² = ṁ² + ṁ_s²           (E1)
/// with ρ upstream of the flow, and ṁ_s = A_e √(2 ρ0 |p0 D|) the steady flow, whose upstream is the side of
/// higher pressure: so a flow that turns round meets no jump between the densities of its two sides.
/// In steady flow this is exactly the compressible orifice law; with A_e large it is the momentum
/// equation of an acoustic column. Nothing is singular at zero flow.
/// τ is not physics: it keeps a nearly closed passage from following its pressures faster than τ, which
/// would force tiny steps. It must be small against the pulses (40 µs is 0.6 deg at 2,500 1/min); a test
/// shows that halving it leaves cycle means alone.
/// Source  momentum: unsteady Bernoulli along a duct; orifice: Heywood 1988, appendix C. Derived.
namespace glassbowl::models {

template <class Real>
struct PassageState {
  Real flow;  ///< [kg/s]

  static constexpr auto states() {
    return list_states<Real, PassageState>(
        {{&PassageState::flow, {"flow", "kg/s", "mass flow toward the engine", 1e-3}}});
  }
};

/// Rate of change of mass flow [kg/s²].
///   drive      equivalent pressure drop [Pa] from `driving_pressure`
///   flow       present mass flow [kg/s]
///   volume     specific volume upstream of the flow [m³/kg], 1/ρ
///   volume_0   specific volume on the side of the higher pressure [m³/kg], 1/ρ0
///   area       effective area A_e = Cd A [m²]; may be zero, the flow then dies out over 2 τ
///   inertance  I [1/m]
///   response   τ [s]
template <class Real>
Real restriction_rate(Real drive, Real flow, Real volume, Real volume_0, Real area, Real inertance,
                      Real response) {
  using std::sqrt;
  const Real A2 = area * area;
  const Real speed = absolute(flow) * volume;
  const Real scale = sqrt(speed * speed + 2.0 * absolute(drive) * A2 * volume_0);
  return (drive * A2 - Real(0.5) * flow * speed) / (inertance * A2 + response * scale + Real(1e-18));
}

}  // namespace glassbowl::models
