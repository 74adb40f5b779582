#pragma once
#include <cmath>

#include "models/fuel/accelerator_pump.hpp"
#include "models/fuel/bowl.hpp"
#include "models/fuel/emulsion_channel.hpp"
#include "models/fuel/main_circuit.hpp"
#include "models/fuel/transfer_ports.hpp"
#include "models/throat/vacuum_piston.hpp"
#include "sim/network/network.hpp"
#include "sim/network/work.hpp"

/// Fuel side of the assembled bike: supply, main, slow, pump, enrichment and vacuum piston. Included by
/// network_rates.hpp.
namespace glassbowl::sim {

/// Vacuum piston: motion, and the breathing of its chamber.
template <class Real>
void Network<Real>::piston(const Real* x, Real* dx, Work&, Snapshot<Real>& s) const {
  if (layout_.piston == absent) return;
  const auto& p = bike_.carburetor.piston;
  const Real lift = x[layout_.piston], velocity = x[layout_.piston + 1], mass = x[layout_.piston + 2];
  const Real T = bike_.carburetor.body_temperature;
  const Real V = m::piston_chamber_volume(p, lift);
  s.chamber_pressure = mass * gas_.R[m::air] * T / V;
  const Real rho_chamber = mass / V;

  dx[layout_.piston] = velocity;
  dx[layout_.piston + 1] = m::piston_acceleration(p, lift, velocity, s.inlet_pressure, s.chamber_pressure,
                                                  s.throat_pressure, liquid_response());
  const auto mixing = s.gas[Layout::mixing];
  const Real vent =
      m::orifice_flow(fresh_, p.vent_discharge * p.vent_count * circle(p.vent_diameter), s.chamber_pressure,
                      rho_chamber, s.throat_pressure, mixing.density, Real(5.0));
  const Real torn =
      m::none(p.torn_area > Real(0))
          ? Real(0)
          : m::orifice_flow(fresh_, p.vent_discharge * p.torn_area, s.inlet_pressure,
                            s.gas.density[Layout::airbox], s.chamber_pressure, rho_chamber, Real(5.0));
  dx[layout_.piston + 2] = torn - vent;
  exchange_air(Layout::mixing, vent, s, dx);
  exchange_air(Layout::airbox, -torn, s, dx);
  dx[layout_.piston_lift] = lift;
}

/// Supply, main circuit and accelerator pump.
template <class Real>
void Network<Real>::carburetor(const Real* x, Real* dx, Work& w, Snapshot<Real>& s) const {
  const auto& carb = bike_.carburetor;

  // Tank and float valve.
  s.bowl_level = m::bowl_level(carb.bowl, x[layout_.bowl], rho_f_);
  s.bowl_pressure = carb.bowl.vented_to_airbox ? s.gas.pressure[Layout::airbox] : w.outside_pressure;
  const Real tank = rho_f_ * carb.feed.fuel_volume + x[layout_.tank];
  const Real feed = m::feed_pressure(carb.feed, tank, rho_f_);
  s.feed_flow = m::bowl_inflow(m::feed_area(carb.feed, s.tap) * m::feed_wetted(carb.feed, tank, rho_f_),
                               m::float_valve_area(carb.bowl, s.bowl_level, feed, rho_f_),
                               feed + w.outside_pressure - s.bowl_pressure, rho_f_);
  s.overflow = m::bowl_overflow(carb.bowl, s.bowl_level, rho_f_);
  dx[layout_.fuel_overflowed] = s.overflow;

  // Main circuit. The slow passage's draw from the well is a state, so it is known here.
  const m::MainCircuitState<Real> state{x[layout_.main], x[layout_.main + 1], x[layout_.main + 2],
                                        x[layout_.main + 3], x[layout_.main + 4]};
  const Real slow_flow = x[layout_.slow];
  const bool from_well = carb.slow_source == SlowSource::well;
  s.needle_area = carb.kind == CarburetorKind::constant_depression
                      ? carb.needle.discharge * m::needle_annulus_area(carb.needle, s.lift)
                      : carb.main.nozzle_discharge * circle(carb.main.nozzle_diameter);
  m::MainCircuitBoundary<Real> boundary;
  boundary.bowl_pressure = s.bowl_pressure;
  boundary.bowl_level = m::level_at_jets(carb.bowl, s.bowl_level);
  boundary.air_pressure = s.inlet_pressure;
  boundary.nozzle_pressure = s.nozzle_pressure;
  boundary.nozzle_area = m::greater(s.needle_area, Real(1e-9));
  boundary.slow_draw = from_well ? slow_flow : Real(0);
  boundary.fuel_density = rho_f_;
  boundary.fuel_viscosity = nu_f_;
  boundary.surface_tension = bike_.fuel.surface_tension;
  boundary.air_density = s.inlet_pressure * per_RT_;
  boundary.response = liquid_response();
  s.main = m::evaluate_main_circuit(carb.main, main_, state, boundary);
  dx[layout_.main] = s.main.rate.jet_flow;
  dx[layout_.main + 1] = s.main.rate.well;
  dx[layout_.main + 2] = s.main.rate.bleed_flow;
  dx[layout_.main + 3] = s.main.rate.riser_flow;
  dx[layout_.main + 4] = s.main.rate.riser;
  exchange_air(Layout::airbox, -state.bleed_flow, s, dx);

  // Accelerator pump.
  Real pump_fuel = Real(0), pump_draw = Real(0);
  if (layout_.pump != absent) {
    s.pump = m::evaluate_pump(carb.pump, x[layout_.pump], m::pump_cam_travel(carb.pump, s.throttle),
                              s.bowl_pressure, s.bowl_level, s.bowl_level + carb.bowl.depth,
                              s.nozzle_pressure, rho_f_, nu_f_, liquid_response());
    dx[layout_.pump] = s.pump.travel_rate;
    pump_fuel = s.pump.nozzle;
    pump_draw = s.pump.inlet;
  }

  // Sprayed into the throat: goes with the flow, back to the airbox when that reverses.
  const Real q = x[layout_.face(Layout::bore)];
  const Real toward_engine = m::smooth_step(0.5 + q * Real(2500.0));
  const Real sprayed = s.main.nozzle_fuel + pump_fuel;
  deliver(Layout::mixing, sprayed * toward_engine, dx);
  deliver(Layout::airbox, sprayed * (1.0 - toward_engine), dx);
  exchange_air(Layout::mixing, state.bleed_flow * toward_engine, s, dx);
  exchange_air(Layout::airbox, state.bleed_flow * (1.0 - toward_engine), s, dx);
  dx[layout_.carburetor_air] += state.bleed_flow * toward_engine;
  dx[layout_.by_main] = s.main.nozzle_fuel;
  dx[layout_.by_pump] = pump_fuel;

  dx[layout_.tank] = -s.feed_flow;
  dx[layout_.bowl] =
      s.feed_flow - s.overflow - state.jet_flow - pump_draw - (from_well ? Real(0) : slow_flow);
}

/// A jet that dips into the bowl at the height of the well's foot.
template <class Real>
m::ChannelSource<Real> Network<Real>::bowl_source(const Snapshot<Real>& s) const {
  const Real height = bike_.carburetor.main.foot;
  const Real depth = m::level_at_jets(bike_.carburetor.bowl, s.bowl_level) - height;
  return {s.bowl_pressure + rho_f_ * m::constants::g0 * m::positive(depth), depth};
}

/// Idle outlet and transfer ports on one emulsion channel.
template <class Real>
void Network<Real>::slow_circuit(const Real* x, Real* dx, Work&, Snapshot<Real>& s) const {
  const auto& carb = bike_.carburetor;
  const m::EmulsionChannelState<Real> state{x[layout_.slow], x[layout_.slow + 1], x[layout_.slow + 2],
                                            x[layout_.slow + 3]};
  const auto channel = m::channel_conditions(carb.slow, slow_, state);
  s.slow_channel = channel;
  const auto up = s.gas[Layout::mixing];
  const auto down = s.gas[Layout::manifold];

  // Idle outlet and exposed ports share one pressure difference: one flow per area serves them all.
  const auto below = m::outlet_flow(fresh_, channel, Real(1), down.pressure, down.density);
  s.idle = {below.fuel * screw_area_, below.air * screw_area_};
  dx[layout_.by_idle] = s.idle.fuel;
  Real fuel_below = s.idle.fuel, air_below = s.idle.air, fuel_above = Real(0), air_above = Real(0);

  // What each port gives above the plate's edge first, then both sides together.
  bool all_open = true;
  for (std::size_t i = 0; i < layout_.ports; ++i)
    all_open = all_open && m::none(port_area_[i] > port_area_[i] * s.exposure[i]);
  if (all_open) {
    for (auto& above : s.port) above = {Real(0), Real(0)};
  } else {
    const m::GasFlow flow = fresh_;
    const Real gap = s.plate_gap, edge = s.plate_edge, p_up = up.pressure, rho_up = up.density;
#pragma GCC ivdep
    for (std::size_t i = 0; i < layout_.ports; ++i)
      s.port[i] = m::outlet_flow(flow, channel, port_area_[i] - port_area_[i] * s.exposure[i],
                                 m::covered_port_pressure(p_up, down.pressure, gap, port_position_[i] - edge),
                                 rho_up);
  }
  for (std::size_t i = 0; i < layout_.ports; ++i) {
    const Real open = port_area_[i] * s.exposure[i];
    fuel_above += s.port[i].fuel;
    air_above += s.port[i].air;
    fuel_below += below.fuel * open;
    air_below += below.air * open;
    s.port[i] = {below.fuel * open + s.port[i].fuel, below.air * open + s.port[i].air};
    dx[layout_.by_port + i] = s.port[i].fuel;
  }
  deliver(Layout::manifold, fuel_below, dx);
  exchange_air(Layout::manifold, air_below, s, dx);
  deliver(Layout::mixing, fuel_above, dx);
  exchange_air(Layout::mixing, air_above, s, dx);

  s.slow_air = m::channel_air(fresh_, slow_, channel, s.inlet_pressure, s.gas.density[Layout::airbox]);
  exchange_air(Layout::airbox, -s.slow_air, s, dx);
  dx[layout_.carburetor_air] += s.slow_air;
  const m::ChannelSource<Real> well{s.main.foot_pressure, s.main.well_level - carb.main.foot};
  const auto rate =
      m::channel_rates(slow_, state, channel, carb.slow_source == SlowSource::well ? well : bowl_source(s),
                       {fuel_below + fuel_above, air_below + air_above, s.slow_air}, liquid_response());
  dx[layout_.slow] = rate.feed_flow;
  dx[layout_.slow + 1] = rate.riser;
  dx[layout_.slow + 2] = rate.liquid;
  dx[layout_.slow + 3] = rate.gas;
}

/// Cold-start enrichment: a jet, an air passage and a plunger that opens the way to the manifold.
template <class Real>
void Network<Real>::cold_start(const Real* x, Real* dx, Work&, Snapshot<Real>& s) const {
  if (layout_.enrichment == absent) return;
  const auto& carb = bike_.carburetor;
  const auto& e = carb.enrichment;
  const std::size_t at = layout_.enrichment;
  const m::EmulsionChannelState<Real> state{x[at], x[at + 1], x[at + 2], x[at + 3]};
  const auto channel = m::channel_conditions(e.channel, enrichment_, state);
  s.enrichment_channel = channel;
  const auto down = s.gas[Layout::manifold];
  s.enrichment = {Real(0), Real(0)};
  if (!m::none(s.choke > Real(0)))
    s.enrichment = m::outlet_flow(fresh_, channel, s.choke * e.plunger_area, down.pressure, down.density);
  deliver(Layout::manifold, s.enrichment.fuel, dx);
  exchange_air(Layout::manifold, s.enrichment.air, s, dx);
  dx[layout_.by_enrichment] = s.enrichment.fuel;
  s.enrichment_air =
      m::channel_air(fresh_, enrichment_, channel, s.inlet_pressure, s.gas.density[Layout::airbox]);
  exchange_air(Layout::airbox, -s.enrichment_air, s, dx);
  dx[layout_.carburetor_air] += s.enrichment_air;
  const auto rate =
      m::channel_rates(enrichment_, state, channel, bowl_source(s),
                       {s.enrichment.fuel, s.enrichment.air, s.enrichment_air}, liquid_response());
  dx[at] = rate.feed_flow;
  dx[at + 1] = rate.riser;
  dx[at + 2] = rate.liquid;
  dx[at + 3] = rate.gas;
  dx[layout_.bowl] -= state.feed_flow;
}

/// Yardstick for lag: fuel vapour joins the air as it passes each intake valve, straight from the tank;
/// circuits and films stand still.
template <class Real>
void Network<Real>::ideal_mixture(const Real* x, double lambda, Real* dx, const Snapshot<Real>& s) const {
  for (std::size_t k = 0; k < layout_.cylinders; ++k) {
    const Real air =
        m::positive(x[layout_.face(layout_.intake_valve(k))]) * s.gas.fraction[m::air][layout_.port_cell(k)];
    const Real fuel = air / (lambda * bike_.fuel.stoichiometric_ratio);
    add_species(layout_.cylinder(k), m::vapour, fuel, s.gas.temperature[layout_.port_cell(k)], dx);
    dx[layout_.tank] -= fuel;
    dx[layout_.by_main] += fuel;
  }
}

}  // namespace glassbowl::sim
