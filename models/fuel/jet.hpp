#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/numerics/elementary.hpp"
#include "models/numerics/select.hpp"
#include "models/numerics/smooth_root.hpp"

/// A drilled jet: a long sharp-edged orifice whose discharge falls at low Reynolds number.
///   1/Cd = 1/Cdu + (20/Re)(1 + 2.25 l/d) - 0.005 (l/d) / (1 + 7.5 log10(0.00015 Re)²)      (E1)
///   Cdu = 0.827 - 0.0085 l/d, Re = (d/ν) √(2 Δp/ρ)
/// Source  Lichtarowicz, Duggins & Markland, J. Mech. Eng. Sci. 7(2) 1965, eqs. 7 and 12; valid for
/// l/d 2 to 10, Re 10 to 20 000. Below l/d = 2 Cdu is held at 0.810 (their statement for 1.5 to 2), above
/// l/d = 10 at its value there.
namespace glassbowl::models {

template <class Real = double>
struct Jet {
  Real bore = Real(1.2e-3);    ///< [m]
  Real length = Real(2.4e-3);  ///< [m]
  Real blocked = Real(0.0);    ///< [-] share of the area lost to dirt; 0 = clean
  Real wear = Real(0.0);       ///< [m] enlargement of the bore
};

template <class Real>
Real jet_diameter(const Jet<Real>& jet) {
  using std::sqrt;
  return (jet.bore + jet.wear) * sqrt(positive_part(1.0 - jet.blocked));
}

template <class Real>
Real jet_area(const Jet<Real>& jet) {
  const Real d = jet_diameter(jet);
  return 0.25 * constants::pi * d * d;
}

/// Ultimate discharge coefficient (eq. 7).
template <class Real>
Real ultimate_discharge(Real length_over_bore) {
  return select(length_over_bore < Real(2.0), Real(0.810),
                0.827 - 0.0085 * min(length_over_bore, Real(10.0)));
}

/// The logarithmic correction of (E1), subtracted from 1/Cd.
template <class Real>
Real transition_correction(Real reynolds, Real length_over_bore) {
  const Real decade = logarithm(0.00015 * reynolds + 1e-12) * 0.43429448190325182765;
  return 0.005 * length_over_bore / (1.0 + 7.5 * decade * decade);
}

/// Discharge coefficient at the ideal-velocity Reynolds number (E1).
template <class Real>
Real jet_discharge(Real reynolds, Real length_over_bore) {
  return 1.0 /
         (1.0 / ultimate_discharge(length_over_bore) + 20.0 / reynolds * (1.0 + 2.25 * length_over_bore) -
          transition_correction(reynolds, length_over_bore));
}

/// Mass flow [kg/s] under a pressure difference [Pa], liquid of density rho and kinematic viscosity nu.
/// Laminar and turbulent ends are both reached; zero at zero, odd in the difference.
template <class Real>
Real jet_flow(const Jet<Real>& jet, Real difference, Real rho, Real nu) {
  using std::sqrt;
  const Real d = jet_diameter(jet);
  const Real size = absolute(difference) + Real(1e-9);
  const Real ideal = sqrt(2.0 * size / rho);
  const Real Cd = jet_discharge(max(d / nu * ideal, Real(1e-9)), jet.length / max(d, Real(1e-9)));
  return Cd * jet_area(jet) * rho * ideal * difference / size;
}

/// A jet and its liquid, as far as neither changes: found once, used in every evaluation.
template <class Real>
struct JetMeasures {
  Real area;         ///< [m²]
  Real inertance;    ///< [1/m] length over area
  Real reynolds;     ///< [s/kg] Reynolds number of the real velocity, over mass flow
  Real turbulent;    ///< [-] 1/Cdu
  Real laminar;      ///< [-] 20 (1 + 2.25 l/d)
  Real slenderness;  ///< [-] l/d
  Real scale;        ///< [Pa s/kg] such that loss = scale · Ra · flow · y²
};

/// Needs a clear jet (area > 0); a blocked one is held at 1e-12 m².
template <class Real>
JetMeasures<Real> measure_jet(const Jet<Real>& jet, Real rho, Real nu) {
  const Real d = max(jet_diameter(jet), Real(1.1e-6));
  JetMeasures<Real> out;
  out.area = 0.25 * constants::pi * d * d;
  out.inertance = jet.length / out.area;
  out.reynolds = d / (rho * out.area * nu);
  out.slenderness = jet.length / d;
  out.turbulent = 1.0 / ultimate_discharge(out.slenderness);
  out.laminar = 20.0 * (1.0 + 2.25 * out.slenderness);
  out.scale = 0.5 / (rho * out.area * out.area * out.reynolds);
  return out;
}

/// Pressure loss over mass flow [Pa s/kg] at a mass flow [kg/s]: the inverse of (E1), used where the flow is
/// a state. With y = 1/Cd and the real-velocity Reynolds number Ra = Re/y, (E1) without its small correction
/// is y² - c0 y - c1/Ra = 0, which gives y and Re = y Ra; the correction is then taken at that Re (tested to
/// 0.2 % against `jet_flow`).
template <class Real>
Real jet_resistance(const JetMeasures<Real>& jet, Real flow) {
  using std::sqrt;
  const Real Ra = absolute(flow) * jet.reynolds + Real(1e-6);
  const Real laminar = 4.0 * jet.laminar / Ra;
  const auto y = [&](Real c) { return 0.5 * (c + sqrt(c * c + laminar)); };
  const Real loss = y(jet.turbulent - transition_correction(y(jet.turbulent) * Ra, jet.slenderness));
  return jet.scale * Ra * loss * loss;
}

/// The loss itself [Pa].
template <class Real>
Real jet_loss(const Jet<Real>& jet, Real flow, Real rho, Real nu) {
  return flow * jet_resistance(measure_jet(jet, rho, nu), flow);
}

/// Bore [m] of the jet that passes `volume_flow` [m³/s] of the liquid under a head of its own [m]: how a
/// flow rating is read. Bisection on (E1); throws nothing, saturates at 0.05 and 10 mm.
inline double bore_from_flow_rating(double volume_flow, double head, double length, double rho, double nu) {
  double low = 0.05e-3, high = 10e-3;
  for (int i = 0; i < 80; ++i) {
    const double middle = 0.5 * (low + high);
    const Jet<double> jet{middle, length, 0.0, 0.0};
    (jet_flow(jet, rho * constants::g0 * head, rho, nu) < rho * volume_flow ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

}  // namespace glassbowl::models
