#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/fuel/emulsion_tube.hpp"
#include "models/fuel/jet.hpp"
#include "models/fuel/liquid_column.hpp"
#include "models/numerics/select.hpp"
#include "models/part.hpp"

/// Main circuit: bowl -> main jet -> well -> riser -> nozzle in the throat, bled with air through the main
/// air jet and the tube's holes. With a needle, the nozzle's area is the annulus.
///
///        main air jet                        nozzle lip  z_lip
///             |                              |
///   bowl      |  p_t                         | riser: liquid m_r, void α
///  ~~~~~~~    v~~~~ level h                  |
///       |   well  o  holes -- bleed air ---->|
///       +--||--+------ well foot z_foot -----+
///         main jet
///
///   p_t    = p_air - Δ A_h²/(A_aj² + A_h²)       air jet's share of the bleed path's drop Δ   (E1)
///   p_foot = p_t + ρ g (h - z_foot)                                                       (E2)
///   I_j dq_j/dt = p_bowl + ρ g (h_bowl - z_foot) - p_foot - jet loss(q_j)                 (E3)
///   p_riser = p_nozzle + p_lip + g m_r/A_r + (q_r + S w)(q_r/ρ + w/(S ρ_g))/(2 A_n²)       (E4)
///   I_r dq_r/dt = p_foot - p_riser - entry loss                                           (E5)
///   dm_w/dt = q_j - q_r - q_slow,   dm_r/dt = q_r - q_nozzle                              (E6)
///   (I_a + τ..) dw/dt: bleed air between p_air and the riser at height h, through air jet and
///   all that is open to it in series, less the capillary pressure:
///   A_x = A_h + (1 - s) A_e,  s the wetted share of the riser's mouth A_e                 (E7)
/// (E7) last term: a well drawn to its foot lets air in under the riser, whatever the holes. So with the
/// holes shut (or no holes at all) a steady circuit has two ranges, with Z = ρ g (lip - foot):
///   Δ_n < Z + p_lip:  no air, p_t = p_air, the well stands where p_foot balances the riser: the plain jet,
///                     jet loss = Δ_n - ρ g (lip - h_bowl) - p_lip, up to ρ g (h_bowl - foot);
///   above it:         the column is held within the mouth's 2 mm, air is metered by air jet and dry mouth
///                     in series, and p_foot = p_air - Δ A_x²/(A_aj² + A_x²) falls with the depression.
/// Δ_n is the depression at the nozzle; losses of mouth and nozzle add to its right side.
/// (E4) last term: momentum of liquid and gas through the nozzle, the gas S times faster, S = (ρ/ρ_g)^¼
/// (Chisholm 1983, for orifices; from memory). S = 1 would be homogeneous flow. The riser's holdup relaxes,
/// within the transit time, to m_full = ρ A_r H (1 - α), α from drift flux:
///   α = j_g / (C0 j + V_gj), C0 = 1.2, V_gj = 0.35 √(g D)                                (E8)
/// Source  network after Harrington & Bolt, SAE 700082 (1970), and Heywood 1988, sec. 7.3; drift flux
/// Zuber & Findlay 1965 with the slug velocity of Dumitrescu/Nicklin. Bleed air storage is neglected
/// (under 1 mg), so air in equals air out.
namespace glassbowl::models {

template <class Real = double>
struct MainCircuit {
  Jet<Real> main_jet{Real(1.25e-3), Real(2.5e-3), Real(0), Real(0)};
  Jet<Real> air_jet{Real(0.9e-3), Real(2.0e-3), Real(0), Real(0)};
  Real air_jet_discharge = Real(0.75);  ///< [-]
  EmulsionTube<Real> tube;
  Real well_diameter = Real(7.0e-3);    ///< [m]
  Real tube_diameter = Real(4.5e-3);    ///< [m] outer
  Real foot = Real(-0.028);             ///< [m] foot of well and riser, above datum
  Real lip = Real(0.006);               ///< [m] nozzle lip above datum
  Real riser_diameter = Real(4.0e-3);   ///< [m]
  Real nozzle_diameter = Real(3.0e-3);  ///< [m] fixed venturi; with a needle the annulus meters
  Real nozzle_discharge = Real(0.8);    ///< [-]
};

template <class Real>
struct MainCircuitState {
  Real jet_flow;    ///< [kg/s]
  Real well;        ///< [kg] fuel in the well outside the riser
  Real bleed_flow;  ///< [kg/s] air
  Real riser_flow;  ///< [kg/s] liquid into the riser
  Real riser;       ///< [kg] liquid in the riser

  static constexpr auto states() {
    using S = MainCircuitState;
    return list_states<Real, S>(
        {{&S::jet_flow, {"jet_flow", "kg/s", "fuel through the main jet", 1e-4}},
         {&S::well, {"well_fuel", "kg", "fuel in the main well", 1e-5, 0.0, Holds::fuel}},
         {&S::bleed_flow, {"bleed_air", "kg/s", "air through the main air jet", 1e-6}},
         {&S::riser_flow, {"riser_flow", "kg/s", "fuel from the well into the riser", 1e-4}},
         {&S::riser, {"riser_fuel", "kg", "fuel in the riser", 1e-5, 0.0, Holds::fuel}}});
  }
};

template <class Real>
struct MainCircuitBoundary {
  Real bowl_pressure;    ///< [Pa] on the fuel in the bowl
  Real bowl_level;       ///< [m]
  Real air_pressure;     ///< [Pa] at the air jet's mouth
  Real nozzle_pressure;  ///< [Pa] static, at the nozzle
  Real nozzle_area;      ///< [m²] effective, CdA
  Real slow_draw;        ///< [kg/s] fuel that the slow passage takes from the well's foot
  Real fuel_density;     ///< [kg/m³]
  Real fuel_viscosity;   ///< [m²/s] kinematic
  Real surface_tension;  ///< [N/m]
  Real air_density;      ///< [kg/m³] at the air jet
  Real response;         ///< [s] τ
};

template <class Real>
struct MainCircuitFlows {
  MainCircuitState<Real> rate;
  Real nozzle_fuel;    ///< [kg/s] delivered
  Real well_level;     ///< [m] above datum
  Real foot_pressure;  ///< [Pa] at the well's foot
  Real tube_pressure;  ///< [Pa] air above the level
  Real void_fraction;  ///< [-] of the riser by drift flux
  Real uncovered;      ///< [m²] effective hole area above the level
};

inline constexpr Seconds shortest_transit{4e-3};  ///< of a riser without bubbles: it leaves at once
inline constexpr PerPascal per_blow_back{0.1};    ///< holes pass liquid instead of air over 10 Pa
inline constexpr Pascals lowest_pressure{1.0};    ///< that the gas in the riser is thought to have

template <class Real>
Real well_area(const MainCircuit<Real>& c) {
  return 0.25 * constants::pi * (c.well_diameter * c.well_diameter - c.tube_diameter * c.tube_diameter) +
         0.25 * constants::pi * c.tube_diameter * c.tube_diameter *
             0.5;  // half of the tube's section is bore
}
template <class Real>
Real riser_area(const MainCircuit<Real>& c) {
  return 0.25 * constants::pi * c.riser_diameter * c.riser_diameter;
}

/// How fast bubbles rise in a passage of diameter D [m], beyond its mean flow [m/s]: V_gj of (E8).
template <class Real>
Real drift_velocity(Real diameter) {
  using std::sqrt;
  return 0.35 * sqrt(as<Real>(constants::gravity) * diameter);
}

/// Velocity of the gas [m/s] from superficial velocities of both: the denominator of (E8).
template <class Real>
Real bubble_velocity(Real gas, Real liquid, Real drift) {
  return 1.2 * (gas + liquid) + drift;
}

/// Drift-flux void fraction (E8) from superficial velocities [m/s] in a passage of diameter D [m].
template <class Real>
Real drift_flux_void(Real gas, Real liquid, Real diameter) {
  return gas / bubble_velocity(gas, liquid, drift_velocity(diameter));
}

/// State of a circuit at rest, filled to the bowl's level.
template <class Real>
MainCircuitState<Real> main_circuit_at_rest(const MainCircuit<Real>& c, Real level, Real rho) {
  const Real h = positive_part(min(level, c.lip) - c.foot);
  return {Real(0), rho * well_area(c) * h, Real(0), Real(0), rho * riser_area(c) * h};
}

/// A circuit and its fuel, as far as neither changes.
template <class Real>
struct MainCircuitMeasures {
  JetMeasures<Real> jet;
  Real head;           ///< [Pa/kg] weight of the riser's liquid on its section
  Real full;           ///< [kg] liquid that fills the riser
  Real per_well;       ///< [m/kg] well's level over its mass
  Real height;         ///< [m] H, foot to lip
  Real per_height;     ///< [1/m]
  Real velocity;       ///< [m/kg] superficial velocity of the riser's liquid over its flow
  Real per_area;       ///< [1/m²] 1/A_r
  Real entry;          ///< [m²] effective area of the riser's mouth
  Real drift;          ///< [m/s] V_gj
  Real air_jet;        ///< [m⁴] A_aj², effective
  Real air_inertance;  ///< [1/m]
  Real column;         ///< [1/m] inertance of the riser
  Real jet_column;     ///< [1/m] of jet and riser together
  std::vector<HoleMeasures<Real>> rows;
  Real lip;                   ///< [Pa] pressure that the meniscus holds
  Real capillary;             ///< [Pa] pressure that the holes hold
  Real mouth;                 ///< [Pa] by which the riser's mouth holds less
  Real density, per_density;  ///< [kg/m³] of the fuel, and its inverse
};

template <class Real>
MainCircuitMeasures<Real> measure_main_circuit(const MainCircuit<Real>& c, Real rho, Real nu, Real tension) {
  const Real A_r = riser_area(c);
  MainCircuitMeasures<Real> k;
  k.jet = measure_jet(c.main_jet, rho, nu);
  k.height = c.lip - c.foot;
  k.per_height = 1.0 / k.height;
  k.per_area = 1.0 / A_r;
  k.density = rho;
  k.per_density = 1.0 / rho;
  k.velocity = k.per_density * k.per_area;
  k.head = as<Real>(constants::gravity) * k.per_area;
  k.full = rho * A_r * k.height;
  k.per_well = 1.0 / (rho * well_area(c));
  k.entry = 0.6 * A_r;
  k.drift = drift_velocity(c.riser_diameter);
  const Real A_aj = c.air_jet_discharge * jet_area(c.air_jet);
  k.air_jet = A_aj * A_aj;
  k.air_inertance = c.air_jet.length / (jet_area(c.air_jet) + Real(1e-12));
  k.column = k.height * k.per_area;
  k.jet_column = k.jet.inertance + k.column;
  k.rows = measure_holes(c.tube);
  k.lip = 4.0 * tension / c.nozzle_diameter;
  k.capillary = 4.0 * tension / (c.tube.rows.empty() ? c.riser_diameter : c.tube.rows.front().diameter);
  k.mouth = k.capillary - 4.0 * tension / c.riser_diameter;
  return k;
}

template <class Real>
MainCircuitFlows<Real> evaluate_main_circuit(const MainCircuit<Real>& c, const MainCircuitMeasures<Real>& k,
                                             const MainCircuitState<Real>& s,
                                             const MainCircuitBoundary<Real>& b) {
  using std::sqrt;
  const Real rho = k.density;
  const Real g = as<Real>(constants::gravity);
  MainCircuitFlows<Real> out;

  // Well level, and what its air sees.
  const Real column = s.well * k.per_well;
  const Real h = c.foot + column;
  out.well_level = h;
  const Real A_h = uncovered_area(k.rows, h);
  out.uncovered = A_h;
  const Real in_well = wetted_share(column);
  const Real A_m =
      k.entry * positive_part(1.0 - in_well);  // of the riser's mouth, when the well gives way to air
  const Real w = s.bleed_flow;

  // Riser: head of what it holds, then the nozzle.
  const Real per_air_density = 1.0 / b.air_density;
  const Real per_rho_g = b.air_pressure * per_air_density / max(b.nozzle_pressure, as<Real>(lowest_pressure));
  const Real per_nozzle = 1.0 / (b.nozzle_area * b.nozzle_area);
  const Real slip = sqrt(sqrt(rho * per_rho_g));
  const Real per_slip_rho_g = slip * slip * slip * k.per_density;  // 1/(S ρ_g), as S⁴ = ρ/ρ_g
  const Real mass_flux = s.riser_flow + slip * w;
  const Real volume_flux = s.riser_flow * k.per_density + w * per_slip_rho_g;
  const Real nozzle_loss = 0.5 * mass_flux * absolute(volume_flux) * per_nozzle;
  const Real j_g = positive_part(w) * per_rho_g * k.per_area;
  const Real j_l = positive_part(s.riser_flow) * k.velocity;
  const Real per_rise = 1.0 / bubble_velocity(j_g, j_l, k.drift);
  out.void_fraction = j_g * per_rise;
  const Real liquid = 1.0 - out.void_fraction;
  const Real full = k.full * liquid;
  // The meniscus at the lip holds back only what has risen to it.
  const Real at_lip = smooth_step((s.riser / full - 0.95) * 20.0);
  const Real head = s.riser * k.head;
  const Real riser_pressure = b.nozzle_pressure + at_lip * k.lip + head + nozzle_loss;

  // Bleed air passes air jet and what is open to it in series, into the riser at the level's height. Blown
  // backward, holes and mouth pass the riser's liquid instead of air: √(ρ_air/ρ) of the volume.
  const Real submerged = clamp(column * k.per_height, Real(0), Real(1));
  const Real A_open = A_h + A_m;
  const Real capillary = k.capillary - k.mouth * A_m / (A_open + Real(1e-12));
  const Real difference = after_capillarity(b.air_pressure - (riser_pressure - head * submerged), capillary);
  const Real backward = sqrt(b.air_density * k.per_density);
  const Real A_x =
      A_open * (backward + (1.0 - backward) * smooth_step(0.5 + difference * as<Real>(per_blow_back)));
  const Real A_x2 = A_x * A_x;
  const Real share_x = A_x2 / (k.air_jet + A_x2 + Real(1e-24));
  const Real A2 = k.air_jet * share_x;
  out.tube_pressure = b.air_pressure - difference * share_x;
  out.foot_pressure = out.tube_pressure + rho * g * positive_part(column);

  // Main jet, fed while its mouth lies in liquid: the bowl's forward, the well's backward.
  const Real bowl_depth = b.bowl_level - c.foot;
  const Real in_bowl = wetted_share(bowl_depth);
  const Real share = select(s.jet_flow >= Real(0), in_bowl, in_well);
  const Real resistance = jet_resistance(k.jet, s.jet_flow) / (share * share);
  out.rate.jet_flow = column_rate(
      b.bowl_pressure + rho * g * positive_part(bowl_depth) - out.foot_pressure - resistance * s.jet_flow,
      k.jet_column, 2.0 * resistance, b.response);

  // Liquid into the riser, through the wetted share of its mouth.
  const Real entry = k.entry * select(s.riser_flow >= Real(0), in_well, wetted_share(s.riser * k.velocity));
  const Real entry_slope = absolute(s.riser_flow) * k.per_density / (entry * entry);
  const Real half_nozzle = 0.5 * per_nozzle;
  const Real riser_slope =
      entry_slope + (absolute(volume_flux) + absolute(mass_flux) * k.per_density) * half_nozzle;
  out.rate.riser_flow = column_rate(out.foot_pressure - riser_pressure - 0.5 * s.riser_flow * entry_slope,
                                    k.column, riser_slope, b.response);

  // Bleed air.
  const Real nozzle_slope =
      (slip * absolute(volume_flux) + absolute(mass_flux) * per_slip_rho_g) * half_nozzle;
  const Real bleed_speed = absolute(w) * per_air_density;
  out.rate.bleed_flow = (difference * A2 - 0.5 * w * bleed_speed) /
                        (k.air_inertance * A2 + b.response * (bleed_speed + nozzle_slope * A2) + Real(1e-18));

  // Holdup and delivery.
  // Without bubbles the column is liquid up to its surface and leaves at once; bubbles take time to rise.
  const Real transit = as<Real>(shortest_transit) + out.void_fraction * k.height * per_rise;
  out.nozzle_fuel = column_outflow(s.riser_flow, s.riser, full, transit);
  out.rate.riser = s.riser_flow - out.nozzle_fuel;
  out.rate.well = s.jet_flow - s.riser_flow - b.slow_draw;
  return out;
}

/// The same, measured on the spot.
template <class Real>
MainCircuitFlows<Real> evaluate_main_circuit(const MainCircuit<Real>& c, const MainCircuitState<Real>& s,
                                             const MainCircuitBoundary<Real>& b) {
  return evaluate_main_circuit(
      c, measure_main_circuit(c, b.fuel_density, b.fuel_viscosity, b.surface_tension), s, b);
}

}  // namespace glassbowl::models
