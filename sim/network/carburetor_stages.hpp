#pragma once
#include <cmath>
#include <vector>

#include "models/fuel/accelerator_pump.hpp"
#include "models/fuel/bowl.hpp"
#include "models/fuel/emulsion_channel.hpp"
#include "models/fuel/main_circuit.hpp"
#include "models/fuel/transfer_ports.hpp"
#include "models/throat/vacuum_piston.hpp"
#include "sim/network/balances.hpp"
#include "sim/network/outputs.hpp"

namespace glassbowl::sim {

/// What surrounds a carburetor at one moment.
template <class Real>
struct CarburetorBoundary {
  Controls<Real> controls;
  Real outside_pressure;  ///< [Pa]
  m::Gas<Real> airbox, mixing, manifold;
  m::PassageState<Real> bore;       ///< flow between airbox and mixing chamber
  m::PassageState<Real> bore_rate;  ///< its rate of change
  Real bore_air;                    ///< [kg/s] fresh air along the bore
  m::TankState<Real> tank;
};

/// One carburetor: throttle plate, throat, bowl and feed, main circuit, pump, slow circuit, enrichment and
/// vacuum piston. Each stage is a function of the values that it is given; `rates` runs those that the gas
/// path does not need.
template <class Real>
class CarburetorStages {
 public:
  CarburetorStages(const Carburetor<Real>& carburetor, const CarburetorStates& states, const Bike<Real>& bike,
                   const m::GasData<Real>& gas);

  Real fuel_density() const { return rho_f_; }
  /// States of one that has stood overnight, at a pressure [Pa] and throttle opening.
  void put_at_rest(Real pressure, Real throttle, Real* x) const;
  /// Fuel [kg] that the pump's diaphragm has pushed out.
  Real pump_displaced(const m::PumpState<Real>& pump) const {
    return rho_f_ * m::pump_area(p_.pump) * pump.travel;
  }

  /// Areas of the throttle plate, and how far it exposes the ports; computed again only when it has moved.
  const PlateCache<Real>& plate(const Controls<Real>& controls, PlateCache<Real>& cache) const;
  /// Choke plate and throat in series, seen as one restriction.
  Throat<Real> throat(const Controls<Real>& controls, const Real* x, Real airbox_pressure,
                      Real mixing_pressure) const;

  struct Delivered {
    CarburetorTotals<Real> totals;  ///< rates of the totals
    Real feed;                      ///< [kg/s] drawn from the tank
  };
  /// Rates of the carburetor's states, and what it exchanges with the volumes. Without `feeds` its fuel
  /// circuits stand still.
  Delivered rates(const CarburetorBoundary<Real>& boundary, const PlateCache<Real>& plate,
                  const Throat<Real>& throat, bool feeds, const Real* x, Balances<Real>& balances,
                  std::vector<m::OutletFlow<Real>>& ports, Real* dx, CarburetorOutputs<Real>* out) const;

 private:
  using Boundary = CarburetorBoundary<Real>;
  using Pressures = BorePressures<Real>;
  struct PistonFlows {
    m::VacuumPistonState<Real> rate;
    PistonOutputs<Real> out;
    Real vent, torn;  ///< [kg/s] air to the throat, and from the inlet
  };
  struct SlowFlows {
    ChannelOutputs<Real> out;
    m::OutletFlow<Real> below, above;  ///< all outlets: to the manifold, and upstream of the plate
  };

  Pressures bore_pressures(const Boundary& b, const Throat<Real>& throat) const;
  PistonFlows piston(const m::VacuumPistonState<Real>& state, const Boundary& b, const Pressures& bore) const;
  BowlFeed<Real> bowl_feed(const m::BowlState<Real>& state, const Boundary& b) const;
  Real nozzle_area(Real lift) const;
  m::MainCircuitFlows<Real> main(const m::MainCircuitState<Real>& state, const Pressures& bore,
                                 const BowlFeed<Real>& bowl, Real nozzle_area, Real slow_draw) const;
  m::PumpFlows<Real> pump(const m::PumpState<Real>& state, const Boundary& b, const Pressures& bore,
                          const BowlFeed<Real>& bowl) const;
  SlowFlows slow(const m::EmulsionChannelState<Real>& state, const Boundary& b, const Pressures& bore,
                 const PlateCache<Real>& plate, std::vector<m::OutletFlow<Real>>& ports) const;
  ChannelOutputs<Real> enrichment(const m::EmulsionChannelState<Real>& state, const Boundary& b,
                                  const Pressures& bore) const;
  m::ChannelSource<Real> bowl_source(const BowlFeed<Real>& bowl) const;
  void feed_circuits(const Boundary& b, const PlateCache<Real>& plate, const Pressures& bore, Real lift,
                     const Real* x, Balances<Real>& balances, std::vector<m::OutletFlow<Real>>& ports,
                     Real* dx, Delivered& delivered, CarburetorOutputs<Real>* out) const;

  const Carburetor<Real>& p_;
  const CarburetorStates& at_;
  m::GasFlow fresh_{fresh_gamma};
  Real rho_f_, nu_f_, surface_tension_;
  Real R_air_;
  Real response_;                    // [s] of liquid columns
  Real screw_area_;                  // [m²]
  Real bore_area_, bore_inertance_;  // [m²], [1/m]
  Real per_RT_;                      // [kg/J] of air at the body's temperature
  m::MainCircuitMeasures<Real> main_;
  m::ChannelMeasures<Real> slow_, enrichment_;
  std::vector<Real> port_area_, port_position_;  // [m²] effective, [m]
};

template <class Real>
CarburetorStages<Real>::CarburetorStages(const Carburetor<Real>& carburetor, const CarburetorStates& states,
                                         const Bike<Real>& bike, const m::GasData<Real>& gas)
    : p_(carburetor), at_(states), surface_tension_(bike.fuel.surface_tension), R_air_(gas.R[m::air]) {
  rho_f_ = m::liquid_density(bike.fuel, p_.body_temperature);
  nu_f_ = m::liquid_kinematic_viscosity(bike.fuel, p_.body_temperature);
  response_ = 2.5 * bike.path.response;
  screw_area_ = m::mixture_screw_area(p_.screw);
  bore_area_ = circle(p_.throttle.bore);
  bore_inertance_ = bike.path.bore_length / bore_area_;
  per_RT_ = 1.0 / (R_air_ * p_.body_temperature);
  main_ = m::measure_main_circuit(p_.main, rho_f_, nu_f_, surface_tension_);
  slow_ = m::measure_channel(p_.slow, p_.main.foot, rho_f_, nu_f_, p_.body_temperature);
  enrichment_ = m::measure_channel(p_.enrichment.channel, p_.main.foot, rho_f_, nu_f_, p_.body_temperature);
  for (const auto& port : p_.ports) {
    port_area_.push_back(m::port_discharge * circle(port.diameter) * (1.0 - port.plugged));
    port_position_.push_back(port.position);
  }
}

template <class Real>
const PlateCache<Real>& CarburetorStages<Real>::plate(const Controls<Real>& controls,
                                                      PlateCache<Real>& cache) const {
  const Real stop = p_.idle_stop + p_.fast_idle * controls.choke;
  const Real angle = m::max(stop, p_.idle_stop + controls.throttle * (p_.throttle.open_angle - p_.idle_stop));
  if (m::none(angle != cache.plate.angle)) return cache;
  cache.plate = {angle, m::throttle_effective_area(p_.throttle, angle),
                 m::throttle_edge_position(p_.throttle, angle), m::throttle_edge_gap(p_.throttle, angle)};
  for (std::size_t i = 0; i < p_.ports.size(); ++i)
    cache.exposure[i] = m::port_exposure(p_.ports[i], cache.plate.edge);
  return cache;
}

template <class Real>
Throat<Real> CarburetorStages<Real>::throat(const Controls<Real>& controls, const Real* x,
                                            Real airbox_pressure, Real mixing_pressure) const {
  using std::sqrt;
  Throat<Real> out;
  out.choke = p_.choke.fitted ? m::choke_effective_area(p_.choke, controls.choke,
                                                        m::positive_part(airbox_pressure - mixing_pressure))
                              : Real(10.0) * bore_area_;
  out.area = at_.piston.fitted() ? m::piston_throat_area(p_.piston, at_.piston.load(x).lift)
                                 : circle(p_.venturi.diameter);
  out.effective = p_.venturi.discharge * out.area;
  const Real choke2 = out.choke * out.choke;
  out.with_choke = out.choke * out.effective / sqrt(out.effective * out.effective + p_.venturi.loss * choke2);
  return out;
}

/// Pressures along the bore: stagnation behind the choke plate, static in the throat. The gas column's
/// acceleration between inlet and throat (about half of the bore) shows there too.
template <class Real>
BorePressures<Real> CarburetorStages<Real>::bore_pressures(const Boundary& b,
                                                           const Throat<Real>& throat) const {
  const Real q = b.bore.flow;
  const auto &up = b.airbox, &down = b.mixing;
  const Real rho = m::select(q >= Real(0), up.density, down.density);
  const Real volume = m::select(q >= Real(0), up.specific_volume, down.specific_volume);
  const Real choke_drop = 0.5 * q * m::absolute(q) * volume / (throat.choke * throat.choke);
  Pressures out;
  out.inlet = m::max(up.pressure - choke_drop, 0.4 * up.pressure);
  const Real depression = m::throat_depression(q, rho, m::max(out.inlet, down.pressure), throat.effective);
  const Real recovered = m::select(q >= Real(0), Real(0), p_.venturi.loss * depression);
  const Real column = 0.5 * bore_inertance_ * b.bore_rate.flow;
  out.throat = m::max(out.inlet - depression + recovered - column, 0.2 * up.pressure);
  out.nozzle = m::max(out.throat - (p_.venturi.signal - 1.0) * depression, 0.2 * up.pressure);
  out.depression = up.pressure - out.nozzle;
  return out;
}

/// Motion of the vacuum piston, and the breathing of its chamber.
template <class Real>
typename CarburetorStages<Real>::PistonFlows CarburetorStages<Real>::piston(
    const m::VacuumPistonState<Real>& state, const Boundary& b, const Pressures& bore) const {
  constexpr double smoothing = 5.0;  // [Pa]
  const auto& p = p_.piston;
  const Real V = m::piston_chamber_volume(p, state.lift);
  const Real rho = state.chamber_air / V;
  PistonFlows out;
  out.out = {state.lift, state.chamber_air * R_air_ * p_.body_temperature / V};
  const Real inside = out.out.chamber_pressure;
  out.vent = m::orifice_flow(fresh_, p.vent_discharge * p.vent_count * circle(p.vent_diameter), inside, rho,
                             bore.throat, b.mixing.density, Real(smoothing));
  out.torn = m::none(p.torn_area > Real(0))
                 ? Real(0)
                 : m::orifice_flow(fresh_, p.vent_discharge * p.torn_area, bore.inlet, b.airbox.density,
                                   inside, rho, Real(smoothing));
  out.rate = {
      state.velocity,
      m::piston_acceleration(p, state.lift, state.velocity, bore.inlet, inside, bore.throat, response_),
      out.torn - out.vent};
  return out;
}

/// Tank and float valve.
template <class Real>
BowlFeed<Real> CarburetorStages<Real>::bowl_feed(const m::BowlState<Real>& state, const Boundary& b) const {
  BowlFeed<Real> out;
  out.level = m::bowl_level(p_.bowl, state.fuel, rho_f_);
  out.pressure = p_.bowl.vented_to_airbox ? b.airbox.pressure : b.outside_pressure;
  const Real tank = rho_f_ * p_.feed.fuel_volume + b.tank.fuel_change;
  const Real feed = m::feed_pressure(p_.feed, tank, rho_f_);
  out.feed = m::bowl_inflow(m::feed_area(p_.feed, b.controls.tap) * m::feed_wetted(p_.feed, tank, rho_f_),
                            m::float_valve_area(p_.bowl, out.level, feed, rho_f_),
                            feed + b.outside_pressure - out.pressure, rho_f_);
  out.overflow = m::bowl_overflow(p_.bowl, out.level, rho_f_);
  return out;
}

/// Effective area [m²] of the main nozzle, or of the annulus around a needle lifted so far.
template <class Real>
Real CarburetorStages<Real>::nozzle_area(Real lift) const {
  return at_.piston.fitted() ? p_.needle.discharge * m::needle_annulus_area(p_.needle, lift)
                             : p_.main.nozzle_discharge * circle(p_.main.nozzle_diameter);
}

template <class Real>
m::MainCircuitFlows<Real> CarburetorStages<Real>::main(const m::MainCircuitState<Real>& state,
                                                       const Pressures& bore, const BowlFeed<Real>& bowl,
                                                       Real nozzle_area, Real slow_draw) const {
  m::MainCircuitBoundary<Real> boundary;
  boundary.bowl_pressure = bowl.pressure;
  boundary.bowl_level = m::level_at_jets(p_.bowl, bowl.level);
  boundary.air_pressure = bore.inlet;
  boundary.nozzle_pressure = bore.nozzle;
  boundary.nozzle_area = m::max(nozzle_area, Real(1e-9));
  boundary.slow_draw = slow_draw;
  boundary.fuel_density = rho_f_;
  boundary.fuel_viscosity = nu_f_;
  boundary.surface_tension = surface_tension_;
  boundary.air_density = bore.inlet * per_RT_;
  boundary.response = response_;
  return m::evaluate_main_circuit(p_.main, main_, state, boundary);
}

template <class Real>
m::PumpFlows<Real> CarburetorStages<Real>::pump(const m::PumpState<Real>& state, const Boundary& b,
                                                const Pressures& bore, const BowlFeed<Real>& bowl) const {
  m::PumpBoundary<Real> boundary;
  boundary.cam = m::pump_cam_travel(p_.pump, b.controls.throttle);
  boundary.bowl_pressure = bowl.pressure;
  boundary.bowl_level = bowl.level;
  boundary.bowl_depth = bowl.level + p_.bowl.depth;
  boundary.nozzle_pressure = bore.nozzle;
  boundary.fuel_density = rho_f_;
  boundary.fuel_viscosity = nu_f_;
  boundary.response = response_;
  return m::evaluate_pump(p_.pump, state, boundary);
}

/// A jet that dips into the bowl at the height of the well's foot.
template <class Real>
m::ChannelSource<Real> CarburetorStages<Real>::bowl_source(const BowlFeed<Real>& bowl) const {
  const Real height = p_.main.foot;
  const Real depth = m::level_at_jets(p_.bowl, bowl.level) - height;
  return {bowl.pressure + rho_f_ * m::constants::g0 * m::positive_part(depth), depth};
}

/// Idle outlet and transfer ports on one emulsion channel. `ports` becomes the flow of each.
template <class Real>
typename CarburetorStages<Real>::SlowFlows CarburetorStages<Real>::slow(
    const m::EmulsionChannelState<Real>& state, const Boundary& b, const Pressures& bore,
    const PlateCache<Real>& plate, std::vector<m::OutletFlow<Real>>& ports) const {
  const auto channel = m::channel_conditions(p_.slow, slow_, state);
  const auto &up = b.mixing, &down = b.manifold;
  const std::size_t count = ports.size();

  // Idle outlet and exposed ports share one pressure difference: one flow per area serves them all.
  const auto each = m::outlet_flow(fresh_, channel, Real(1), down.pressure, down.density);
  const m::OutletFlow<Real> idle{each.fuel * screw_area_, each.air * screw_area_};
  m::OutletFlow<Real> below = idle, above{Real(0), Real(0)};

  // What each port gives above the plate's edge first, then both sides together.
  bool all_open = true;
  for (std::size_t i = 0; i < count; ++i)
    all_open = all_open && m::none(port_area_[i] > port_area_[i] * plate.exposure[i]);
  if (all_open) {
    for (auto& port : ports) port = {Real(0), Real(0)};
  } else {
    const m::GasFlow flow = fresh_;
    const Real gap = plate.plate.gap, edge = plate.plate.edge, p_up = up.pressure, rho_up = up.density;
#pragma GCC ivdep
    for (std::size_t i = 0; i < count; ++i)
      ports[i] = m::outlet_flow(flow, channel, port_area_[i] - port_area_[i] * plate.exposure[i],
                                m::covered_port_pressure(p_up, down.pressure, gap, port_position_[i] - edge),
                                rho_up);
  }
  for (std::size_t i = 0; i < count; ++i) {
    const Real open = port_area_[i] * plate.exposure[i];
    above.fuel += ports[i].fuel;
    above.air += ports[i].air;
    below.fuel += each.fuel * open;
    below.air += each.air * open;
    ports[i] = {each.fuel * open + ports[i].fuel, each.air * open + ports[i].air};
  }
  return {
      {channel, idle, m::channel_air(fresh_, slow_, channel, bore.inlet, b.airbox.density)}, below, above};
}

/// Cold-start enrichment: a jet, an air passage and a plunger that opens the way to the manifold.
template <class Real>
ChannelOutputs<Real> CarburetorStages<Real>::enrichment(const m::EmulsionChannelState<Real>& state,
                                                        const Boundary& b, const Pressures& bore) const {
  const auto channel = m::channel_conditions(p_.enrichment.channel, enrichment_, state);
  m::OutletFlow<Real> outlet{Real(0), Real(0)};
  if (!m::none(b.controls.choke > Real(0)))
    outlet = m::outlet_flow(fresh_, channel, b.controls.choke * p_.enrichment.plunger_area,
                            b.manifold.pressure, b.manifold.density);
  return {channel, outlet, m::channel_air(fresh_, enrichment_, channel, bore.inlet, b.airbox.density)};
}

/// Stages of the fuel circuits, and what they exchange.
template <class Real>
void CarburetorStages<Real>::feed_circuits(const Boundary& b, const PlateCache<Real>& plate,
                                           const Pressures& bore, Real lift, const Real* x,
                                           Balances<Real>& balances, std::vector<m::OutletFlow<Real>>& ports,
                                           Real* dx, Delivered& delivered,
                                           CarburetorOutputs<Real>* out) const {
  constexpr double per_turning_flow = 2500.0;  // [s/kg] spray turns round over twice its inverse
  const Real body = p_.body_temperature;
  const auto exchange_air = [&](std::size_t volume, Real into, const m::Gas<Real>& gas) {
    balances.exchange_air(volume, into, body, gas.temperature);
  };
  auto& totals = delivered.totals;

  const BowlFeed<Real> bowl = bowl_feed(at_.bowl.load(x), b);
  // The slow passage's draw from the well is a state, so it is known here.
  const auto main_state = at_.main.load(x);
  const auto slow_state = at_.slow.load(x);
  const bool from_well = p_.slow_source == SlowSource::well;
  const Real area = nozzle_area(lift);
  const auto main_flows = main(main_state, bore, bowl, area, from_well ? slow_state.feed_flow : Real(0));
  at_.main.store(dx, main_flows.rate);
  exchange_air(Volumes::airbox, -main_state.bleed_flow, b.airbox);

  Real pump_fuel = Real(0), pump_draw = Real(0);
  if (at_.pump.fitted()) {
    const auto flows = pump(at_.pump.load(x), b, bore, bowl);
    at_.pump.store(dx, flows.rate);
    pump_fuel = flows.nozzle;
    pump_draw = flows.inlet;
    if (out != nullptr) out->pump = flows;
  }

  // Sprayed into the throat: goes with the flow, back to the airbox when that reverses.
  const Real toward_engine = m::smooth_step(0.5 + b.bore.flow * Real(per_turning_flow));
  const Real sprayed = main_flows.nozzle_fuel + pump_fuel, bleed = main_state.bleed_flow;
  balances.deliver(at_.mixing, sprayed * toward_engine, body);
  balances.deliver(Volumes::airbox, sprayed * (1.0 - toward_engine), body);
  exchange_air(at_.mixing, bleed * toward_engine, b.mixing);
  exchange_air(Volumes::airbox, bleed * (1.0 - toward_engine), b.airbox);
  totals.air += bleed * toward_engine;

  const SlowFlows slow_flows = slow(slow_state, b, bore, plate, ports);
  for (std::size_t i = 0; i < ports.size(); ++i) dx[at_.port_fuel[i]] = ports[i].fuel;
  balances.deliver(at_.manifold, slow_flows.below.fuel, body);
  exchange_air(at_.manifold, slow_flows.below.air, b.manifold);
  balances.deliver(at_.mixing, slow_flows.above.fuel, body);
  exchange_air(at_.mixing, slow_flows.above.air, b.mixing);
  exchange_air(Volumes::airbox, -slow_flows.out.air, b.airbox);
  totals.air += slow_flows.out.air;
  const m::ChannelSource<Real> well{main_flows.foot_pressure, main_flows.well_level - p_.main.foot};
  at_.slow.store(
      dx, m::channel_rates(slow_, slow_state, slow_flows.out.channel, from_well ? well : bowl_source(bowl),
                           {slow_flows.below.fuel + slow_flows.above.fuel,
                            slow_flows.below.air + slow_flows.above.air, slow_flows.out.air},
                           response_));

  Real bowl_rate = bowl.feed - bowl.overflow - main_state.jet_flow - pump_draw -
                   (from_well ? Real(0) : slow_state.feed_flow);
  if (at_.enrichment.fitted()) {
    const auto state = at_.enrichment.load(x);
    const ChannelOutputs<Real> flows = enrichment(state, b, bore);
    balances.deliver(at_.manifold, flows.outlet.fuel, body);
    exchange_air(at_.manifold, flows.outlet.air, b.manifold);
    exchange_air(Volumes::airbox, -flows.air, b.airbox);
    totals.air += flows.air;
    totals.enrichment = flows.outlet.fuel;
    at_.enrichment.store(dx, m::channel_rates(enrichment_, state, flows.channel, bowl_source(bowl),
                                              {flows.outlet.fuel, flows.outlet.air, flows.air}, response_));
    bowl_rate -= state.feed_flow;
    if (out != nullptr) out->enrichment = flows;
  }
  at_.bowl.store(dx, m::BowlState<Real>{bowl_rate});

  delivered.feed = bowl.feed;
  totals.overflowed = bowl.overflow;
  totals.idle = slow_flows.out.outlet.fuel;
  totals.main = main_flows.nozzle_fuel;
  totals.pump = pump_fuel;
  if (out != nullptr) {
    out->bowl = bowl;
    out->nozzle_area = area;
    out->main = main_flows;
    out->slow = slow_flows.out;
    out->port = ports;
    out->exposure = plate.exposure;
  }
}

template <class Real>
typename CarburetorStages<Real>::Delivered CarburetorStages<Real>::rates(
    const CarburetorBoundary<Real>& b, const PlateCache<Real>& plate, const Throat<Real>& throat, bool feeds,
    const Real* x, Balances<Real>& balances, std::vector<m::OutletFlow<Real>>& ports, Real* dx,
    CarburetorOutputs<Real>* out) const {
  const Real none = Real(0);
  const Pressures bore = bore_pressures(b, throat);
  Delivered delivered{{none, none, none, none, none, b.bore_air, b.manifold.pressure, none, bore.depression},
                      none};
  Real lift = none;
  if (at_.piston.fitted()) {
    const PistonFlows flows = piston(at_.piston.load(x), b, bore);
    at_.piston.store(dx, flows.rate);
    balances.exchange_air(at_.mixing, flows.vent, p_.body_temperature, b.mixing.temperature);
    balances.exchange_air(Volumes::airbox, -flows.torn, p_.body_temperature, b.airbox.temperature);
    lift = delivered.totals.piston_lift = flows.out.lift;
    if (out != nullptr) out->piston = flows.out;
  }
  if (feeds) feed_circuits(b, plate, bore, lift, x, balances, ports, dx, delivered, out);
  if (out != nullptr) {
    out->plate = plate.plate;
    out->throat = throat;
    out->bore = bore;
  }
  return delivered;
}

}  // namespace glassbowl::sim
