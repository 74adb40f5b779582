#pragma once
#include <cmath>

#include "models/constants.hpp"
#include "models/fuel/jet.hpp"
#include "models/fuel/liquid_column.hpp"
#include "models/gas/flow_function.hpp"
#include "models/numerics/select.hpp"
#include "models/numerics/smooth_root.hpp"
#include "models/part.hpp"

/// A jet that lifts fuel into a small channel where an air jet breaks it up, and outlets that pass the
/// emulsion on: the idle circuit (outlets: screw and transfer ports) and the cold-start enrichment
/// (outlet: plunger). The channel drains back through its jet when nothing draws and must prime again.
///   I dq/dt = p_source - p_c - g m_s/A_s - jet loss(q)                                     (E1)
///   p_c = m_g R T / V_g,  V_g = V - m_l/ρ                                                 (E2)
/// Outlets: homogeneous mixture of density ρ_h = (m_l + m_g)/V under the compressible drive; inflow is
/// outside air only.  Isothermal at body temperature.
/// Source  homogeneous two-phase orifice (standard); circuit after Hendricks, MS thesis UW-Madison 2007.
namespace glassbowl::models {

template <class Real = double>
struct EmulsionChannel {
  Jet<Real> fuel_jet{Real(0.42e-3), Real(1.2e-3), Real(0), Real(0)};
  Jet<Real> air_jet{Real(1.1e-3), Real(2.0e-3), Real(0), Real(0)};
  Real air_jet_discharge = Real(0.75);  ///< [-]
  Real volume = Real(0.8e-6);           ///< [m³]
  Real height = Real(0.012);            ///< [m] of the channel above the float datum
  Real riser_diameter = Real(1.8e-3);   ///< [m] passage from jet to channel
};

template <class Real>
struct EmulsionChannelState {
  Real feed_flow;  ///< [kg/s] fuel through the jet
  Real riser;      ///< [kg] fuel in the passage up to the channel
  Real liquid;     ///< [kg] fuel in the channel
  Real gas;        ///< [kg] air in the channel

  static constexpr auto states() {
    using S = EmulsionChannelState;
    return list_states<Real, S>(
        {{&S::feed_flow, {"jet_flow", "kg/s", "fuel through the circuit's jet", 1e-5}},
         {&S::riser, {"riser_fuel", "kg", "fuel in the passage up to the channel", 1e-6, 0.0, Holds::fuel}},
         {&S::liquid, {"channel_fuel", "kg", "fuel in the channel", 1e-6, 0.0, Holds::fuel}},
         {&S::gas, {"channel_air", "kg", "air in the channel", 1e-8, 0.0, Holds::air}}});
  }
};

inline constexpr Pascals outlet_smoothing{20.0};
inline constexpr Seconds passage_transit{3e-3};  ///< fuel from the passage's top into the channel
inline constexpr Mass trace_of_fuel{1e-12};      ///< in a channel that is empty

template <class Real>
struct ChannelConditions {
  Real pressure;  ///< [Pa]
  Real density;   ///< [kg/m³] homogeneous
  Real liquid;    ///< [kg/kg] fuel share of what leaves
};

/// One flow through an outlet; positive out of the channel.
template <class Real>
struct OutletFlow {
  Real fuel;  ///< [kg/s]
  Real air;   ///< [kg/s] negative when outside air is drawn in
};

template <class Real>
Real channel_riser_area(const EmulsionChannel<Real>& c) {
  return 0.25 * constants::pi * c.riser_diameter * c.riser_diameter;
}

/// A channel and its fuel, as far as neither changes.
template <class Real>
struct ChannelMeasures {
  JetMeasures<Real> jet;
  Real air_jet;      ///< [m²] effective area
  Real inertance;    ///< [1/m] of jet and passage
  Real full;         ///< [kg] liquid that fills the passage
  Real depth;        ///< [m/kg] liquid in the passage over its mass
  Real head;         ///< [Pa/kg] its weight on its section
  Real pressure;     ///< [J/kg] R T of the gas
  Real per_volume;   ///< [1/m³]
  Real per_density;  ///< [m³/kg] of the liquid
};

/// `source` [m] is the height of the jet.
template <class Real>
ChannelMeasures<Real> measure_channel(const EmulsionChannel<Real>& c, Real source, Real rho, Real nu,
                                      Real temperature) {
  const Real A = channel_riser_area(c);
  const Real lift = c.height - source;
  ChannelMeasures<Real> k;
  k.jet = measure_jet(c.fuel_jet, rho, nu);
  k.air_jet = c.air_jet_discharge * jet_area(c.air_jet);
  k.inertance = k.jet.inertance + lift / A;
  k.full = rho * A * lift;
  k.depth = 1.0 / (rho * A);
  k.head = as<Real>(constants::gravity) / A;
  k.pressure = as<Real>(constants::air_gas_constant) * temperature;
  k.per_volume = 1.0 / c.volume;
  k.per_density = 1.0 / rho;
  return k;
}

/// Room for gas in the channel [m³] beside `liquid` [kg]: at least a fifth of it.
template <class Real>
Real channel_gas_volume(const EmulsionChannel<Real>& c, Real liquid, Real per_density) {
  return 0.2 * c.volume + smooth_positive_part(0.8 * c.volume - liquid * per_density, 0.02 * c.volume);
}

/// Pressure and mixture in the channel. The gas keeps at least a fifth of the channel.
template <class Real>
ChannelConditions<Real> channel_conditions(const EmulsionChannel<Real>& c, const ChannelMeasures<Real>& k,
                                           const EmulsionChannelState<Real>& s) {
  const Real V_g = channel_gas_volume(c, s.liquid, k.per_density);
  ChannelConditions<Real> out;
  out.pressure = s.gas * k.pressure / V_g;
  const Real mass = s.liquid + s.gas;
  out.density = mass * k.per_volume;
  out.liquid = s.liquid / mass;
  return out;
}

/// Flow through an outlet of effective area CdA [m²] against outside pressure and density.
template <class Real>
OutletFlow<Real> outlet_flow(const GasFlow& gas, const ChannelConditions<Real>& channel, Real CdA, Real p_out,
                             Real rho_out) {
  const Real m =
      orifice_flow(gas, CdA, channel.pressure, channel.density, p_out, rho_out, as<Real>(outlet_smoothing));
  const Real leaving = positive_part(m);
  return {leaving * channel.liquid, m - leaving * channel.liquid};
}

/// Air into the channel through its air jet [kg/s].
template <class Real>
Real channel_air(const GasFlow& gas, const ChannelMeasures<Real>& k, const ChannelConditions<Real>& channel,
                 Real p_air, Real rho_air) {
  return orifice_flow(gas, k.air_jet, p_air, rho_air, channel.pressure, channel.density,
                      as<Real>(outlet_smoothing));
}

/// Where a circuit's jet takes its fuel: pressure [Pa] at the jet, and how deep [m] the jet lies below the
/// surface it draws from.
template <class Real>
struct ChannelSource {
  Real pressure;
  Real depth;
};

/// Sums over all openings of a channel [kg/s]: fuel and air out through the outlets, air in by its jet.
template <class Real>
struct ChannelExchange {
  Real fuel_out;
  Real air_out;
  Real air_in;
};

/// Rates of change (E1) and the two masses. `response` [s] as in `column_rate`.
template <class Real>
EmulsionChannelState<Real> channel_rates(const ChannelMeasures<Real>& k, const EmulsionChannelState<Real>& s,
                                         const ChannelConditions<Real>& channel,
                                         const ChannelSource<Real>& source,
                                         const ChannelExchange<Real>& exchange, Real response) {
  EmulsionChannelState<Real> rate;
  // Forward it draws from its source, backward from what its own passage holds.
  const Real share = wetted_share(select(s.feed_flow >= Real(0), source.depth, s.riser * k.depth));
  const Real resistance = jet_resistance(k.jet, s.feed_flow) / (share * share);
  rate.feed_flow =
      column_rate(source.pressure - channel.pressure - s.riser * k.head - resistance * s.feed_flow,
                  k.inertance, 2.0 * resistance, response);
  const Real delivered = column_outflow(s.feed_flow, s.riser, k.full, as<Real>(passage_transit));
  rate.riser = s.feed_flow - delivered;
  rate.liquid = delivered - exchange.fuel_out;
  rate.gas = exchange.air_in - exchange.air_out;
  return rate;
}

/// A channel at rest: empty, its passage filled to the bowl's level.
template <class Real>
EmulsionChannelState<Real> channel_at_rest(const EmulsionChannel<Real>& c, Real level, Real source, Real rho,
                                           Real p, Real temperature) {
  const Real h = positive_part(min(level, c.height) - source);
  return {Real(0), rho * channel_riser_area(c) * h, as<Real>(trace_of_fuel),
          p * channel_gas_volume(c, as<Real>(trace_of_fuel), 1.0 / rho) /
              (as<Real>(constants::air_gas_constant) * temperature)};
}

}  // namespace glassbowl::models
