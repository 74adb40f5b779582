#include "sim/run/channels.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <string>
#include <utility>

namespace glassbowl::sim {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double no_fuel = 1e-12;  // [kg/s] below this, nothing is delivered

std::string numbered(const std::string& name, std::size_t index) {
  return name + "_" + std::to_string(index + 1);
}

/// Slow inventories would lose their changes in float32.
bool keeps_every_digit(const Layout& layout, std::size_t state) {
  if (layout.names[state].ledger) return true;
  if (state == layout.crank_angle || state == layout.tank || state == layout.bowl) return true;
  return state >= layout.gas(m::energy, 0) && state < layout.gas(m::energy, layout.volumes);
}

/// All states but the totals that serve means over a cycle, which are channels themselves.
std::vector<std::size_t> kept_states(const Layout& layout) {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < layout.size; ++i) {
    const bool for_means = i == layout.manifold_pressure || i == layout.piston_lift || i == layout.speed ||
                           i == layout.depression || i == layout.indicated_work ||
                           i == layout.friction_work || i == layout.brake_work;
    if (!for_means) out.push_back(i);
  }
  return out;
}

/// The one place that names channels beyond the states and says where each value lies.
struct ChannelTable {
  std::vector<Channel> channels;
  std::vector<const double*> sources;

  void add(std::string name, std::string unit, std::string long_name, std::string part, const double& source,
           bool wide = false) {
    channels.push_back({std::move(name), std::move(unit), std::move(long_name), std::move(part), wide});
    sources.push_back(&source);
  }

  ChannelTable(const Layout& layout, const Snapshot<double>& s, const std::vector<Trapped>& trapped,
               const DerivedValues& derived) {
    add("throttle", "1", "rider's throttle, 0 on the stop and 1 wide open", "rider", s.throttle);
    add("choke", "1", "rider's choke or enrichment lever, 1 fully on", "rider", s.choke);
    add("tap", "1", "fuel tap, 1 open", "rider", s.tap);
    add("altitude", "m", "altitude", "air", s.altitude);
    add("ambient_pressure", "Pa", "pressure of the air outside", "air", s.outside.pressure);
    add("ambient_temperature", "K", "temperature of the air outside", "air", s.outside.temperature);

    add("plate_angle", "rad", "throttle plate angle", "throttle", s.plate_angle);
    add("plate_area", "m2", "effective area past the throttle plate", "throttle", s.plate_area);
    add("inlet_pressure", "Pa", "pressure behind the choke plate", "throat", s.inlet_pressure);
    add("throat_pressure", "Pa", "static pressure in the throat", "throat", s.throat_pressure);
    add("nozzle_pressure", "Pa", "static pressure at the main nozzle", "throat", s.nozzle_pressure);
    add("depression", "Pa", "airbox pressure less that at the main nozzle", "throat", s.depression);
    add("throat_area", "m2", "throat area", "throat", s.throat_area);
    add("needle_area", "m2", "effective area of the main nozzle or of the needle's annulus", "main",
        s.needle_area);
    if (layout.piston != absent)
      add("piston_chamber_pressure", "Pa", "pressure above the diaphragm", "piston", s.chamber_pressure);

    for (std::size_t v = 0; v < layout.volumes; ++v) {
      const auto& name = layout.volume_names[v];
      add(name + "_pressure", "Pa", "pressure", name, s.gas.pressure[v]);
      add(name + "_temperature", "K", "gas temperature", name, s.gas.temperature[v]);
    }
    for (std::size_t k = 0; k < layout.cylinders; ++k) {
      const std::string name = numbered("cylinder", k);
      const auto& c = s.cylinder[k];
      add(name + "_volume", "m3", "volume above the piston", name, c.volume);
      add(name + "_intake_lift", "m", "intake valve lift", name, c.intake_lift);
      add(name + "_exhaust_lift", "m", "exhaust valve lift", name, c.exhaust_lift);
      add(name + "_burn_rate", "kg/s", "fuel burning", name, c.burn_rate);
      add(name + "_wall_heat", "W", "heat from gas to walls", name, c.wall_heat);
      add(name + "_trapped_lambda", "1",
          "lambda trapped last, liquid fuel included, NaN before the first charge", name,
          derived.trapped_lambda[k]);
      add(name + "_trapped_residual", "1", "burned share of the charge trapped last", name,
          trapped[k].residual);
    }
    for (std::size_t k = 0; k < layout.cylinders; ++k) {
      const std::string name = numbered("film", k);
      add(name + "_deposited", "kg/s", "droplets landing on the film", name, s.film[k].deposited);
      add(name + "_evaporated", "kg/s", "vapour leaving the film", name, s.film[k].evaporated);
      add(name + "_crept", "kg/s", "film creeping into the cylinder", name, s.film[k].crept);
    }

    add("bowl_level", "m", "fuel level above the float datum", "bowl", s.bowl_level);
    add("bowl_pressure", "Pa", "pressure on the fuel in the bowl", "bowl", s.bowl_pressure);
    add("feed_flow", "kg/s", "fuel from the tank into the bowl", "bowl", s.feed_flow);
    add("overflow_flow", "kg/s", "fuel out of the bowl's overflow", "bowl", s.overflow);
    add("main_fuel_flow", "kg/s", "fuel out of the main nozzle", "main", s.main.nozzle_fuel);
    add("well_level", "m", "fuel level in the main well above the float datum", "main", s.main.well_level);
    add("well_foot_pressure", "Pa", "pressure at the foot of the main well", "main", s.main.foot_pressure);
    add("well_air_pressure", "Pa", "air pressure above the fuel in the main well", "main",
        s.main.tube_pressure);
    add("riser_void_fraction", "1", "share of air in the riser", "main", s.main.void_fraction);
    add("uncovered_holes", "m2", "effective area of tube holes above the level", "main", s.main.uncovered);
    add("idle_fuel_flow", "kg/s", "fuel out of the idle outlet", "slow", s.idle.fuel);
    add("idle_air_flow", "kg/s", "air out of the idle outlet", "slow", s.idle.air);
    for (std::size_t i = 0; i < layout.ports; ++i) {
      const std::string name = numbered("port", i);
      add(name + "_fuel_flow", "kg/s", "fuel out of this transfer port", "slow", s.port[i].fuel);
      add(name + "_air_flow", "kg/s", "air out of this transfer port, negative inward", "slow",
          s.port[i].air);
      add(name + "_exposure", "1", "share of this transfer port below the plate's edge", "slow",
          s.exposure[i]);
    }
    add("slow_channel_pressure", "Pa", "pressure in the slow channel", "slow", s.slow_channel.pressure);
    add("slow_channel_fuel_share", "1", "fuel share of what leaves the slow channel", "slow",
        s.slow_channel.liquid);
    add("slow_air_flow", "kg/s", "air through the slow air jet", "slow", s.slow_air);
    if (layout.pump != absent) {
      add("pump_fuel_flow", "kg/s", "fuel out of the pump nozzle", "pump", s.pump.nozzle);
      add("pump_inlet_flow", "kg/s", "fuel from the bowl into the pump", "pump", s.pump.inlet);
      add("pump_pressure", "Pa", "pressure in the pump above the bowl", "pump", s.pump.pressure);
    }
    if (layout.enrichment != absent) {
      add("enrichment_fuel_flow", "kg/s", "fuel out of the cold-start enrichment", "enrichment",
          s.enrichment.fuel);
      add("enrichment_air_flow", "kg/s", "air through the enrichment's air jet", "enrichment",
          s.enrichment_air);
      add("enrichment_channel_pressure", "Pa", "pressure in the enrichment channel", "enrichment",
          s.enrichment_channel.pressure);
    }

    add("carburetor_air_flow", "kg/s", "air leaving the carburetor: bore, bleeds and air jets", "carburetor",
        derived.air);
    add("carburetor_fuel_flow", "kg/s", "fuel leaving all outlets", "carburetor", derived.fuel);
    add("lambda", "1",
        "air over fuel leaving the carburetor and the stoichiometric ratio, NaN while either does not flow "
        "out",
        "carburetor", derived.lambda);
    add("speed", "rad/s", "crank speed, held by the load or free", "crank", s.omega);
    add("indicated_torque", "N m", "torque of the gas", "crank", s.indicated_torque);
    add("friction_torque", "N m", "torque lost to friction", "crank", s.friction_torque);
    add("brake_torque", "N m", "torque at the crankshaft's output", "crank", s.brake_torque);
    add("starter_torque", "N m", "torque of starter or kick", "crank", s.starter_torque);
    add("fuel_held", "kg", "all fuel in carburetor, films and gas, and how the tank has changed", "budget",
        derived.fuel_held, true);
    add("air_held", "kg", "all air in gas volumes and passages", "budget", derived.air_held, true);
  }
};

std::vector<Channel> state_channels(const Layout& layout) {
  std::vector<Channel> out;
  for (const std::size_t i : kept_states(layout)) {
    const auto& n = layout.names[i];
    out.push_back({n.name, n.unit, n.long_name, n.part, keeps_every_digit(layout, i)});
  }
  return out;
}

std::vector<Channel> cycle_channels(const Layout& layout) {
  std::vector<Channel> out;
  const auto add = [&](std::string name, std::string unit, std::string text, std::string part,
                       bool wide = false) {
    out.push_back({"cycle_" + std::move(name), std::move(unit), std::move(text) + ", mean over the cycle",
                   std::move(part), wide});
  };
  out.push_back({"cycle_start", "s", "time at which the cycle began", "crank", true});
  out.push_back({"cycle_duration", "s", "how long the cycle took", "crank", true});
  add("speed", "rad/s", "crank speed", "crank");
  add("air_flow", "kg/s", "air out of the carburetor", "carburetor");
  add("fuel_flow", "kg/s", "fuel out of all outlets", "carburetor");
  out.push_back({"cycle_lambda", "1",
                 "lambda at the carburetor, mean over the cycle, NaN where no fuel flows out", "carburetor",
                 false});
  add("idle_fuel_flow", "kg/s", "fuel out of the idle outlet", "slow");
  for (std::size_t i = 0; i < layout.ports; ++i)
    add(numbered("port", i) + "_fuel_flow", "kg/s", "fuel out of this transfer port", "slow");
  add("main_fuel_flow", "kg/s", "fuel out of the main nozzle", "main");
  add("pump_fuel_flow", "kg/s", "fuel out of the accelerator pump", "pump");
  add("enrichment_fuel_flow", "kg/s", "fuel out of the cold-start enrichment", "enrichment");
  add("indicated_torque", "N m", "torque of the gas", "crank");
  add("friction_torque", "N m", "torque lost to friction", "crank");
  add("brake_torque", "N m", "torque at the crankshaft's output", "crank");
  add("manifold_pressure", "Pa", "manifold pressure", "manifold");
  add("depression", "Pa", "depression at the main nozzle", "throat");
  if (layout.piston != absent) add("piston_lift", "m", "lift of the vacuum piston", "piston");
  for (std::size_t k = 0; k < layout.cylinders; ++k) {
    const std::string part = numbered("cylinder", k);
    const auto held = [&](const char* name, const char* unit, const char* text) {
      out.push_back({"cycle_" + part + "_" + name, unit, text, part, false});
    };
    held("lambda", "1", "lambda trapped last, liquid fuel included, NaN before the first charge");
    held("residual", "1", "burned share of the charge trapped last, NaN before the first charge");
    held("ignited", "1", "share of the last charge that lit");
    held("mass", "kg", "charge trapped last");
  }
  return out;
}

}  // namespace

ChannelList all_channels(const Bike<double>& bike) {
  const Network<double> network(bike);
  const auto& layout = network.layout();
  const auto snapshot = network.make_snapshot();
  const std::vector<Trapped> trapped(layout.cylinders);
  DerivedValues derived;
  derived.trapped_lambda.resize(layout.cylinders);
  ChannelList out{state_channels(layout), cycle_channels(layout)};
  ChannelTable table(layout, snapshot, trapped, derived);
  std::move(table.channels.begin(), table.channels.end(), std::back_inserter(out.time));
  return out;
}

ChannelReader::ChannelReader(Simulation& simulation)
    : simulation_(simulation), states_(kept_states(simulation.network().layout())) {
  derived_.trapped_lambda.resize(simulation.network().layout().cylinders);
  sources_ =
      ChannelTable(simulation.network().layout(), simulation.snapshot(), simulation.trapped(), derived_)
          .sources;
  values_.resize(count());
}

std::span<const double> ChannelReader::read_current() {
  const auto& network = simulation_.network();
  const auto& layout = network.layout();
  const State& x = std::as_const(simulation_).state();
  const State& dx = simulation_.derivative();

  derived_.air = dx[layout.carburetor_air];
  derived_.fuel = dx[layout.by_idle] + dx[layout.by_main] + dx[layout.by_pump] + dx[layout.by_enrichment];
  for (std::size_t i = 0; i < layout.ports; ++i) derived_.fuel += dx[layout.by_port + i];
  derived_.lambda = derived_.fuel > no_fuel && derived_.air > 0.0
                        ? derived_.air / (derived_.fuel * network.bike().fuel.stoichiometric_ratio)
                        : nan;
  derived_.fuel_held = network.fuel_held(x.data());
  derived_.air_held = network.air_held(x.data());
  for (std::size_t k = 0; k < layout.cylinders; ++k) {
    const auto& trapped = simulation_.trapped()[k];
    derived_.trapped_lambda[k] = trapped.mass > 0.0 ? trapped.lambda : nan;
  }

  double* out = values_.data();
  for (const std::size_t state : states_) *out++ = x[state];
  for (const double* source : sources_) *out++ = *source;
  return values_;
}

void fill_cycle_row(const Cycle& c, std::span<double> values) {
  std::size_t at = 0;
  const auto put = [&](double value) { values[at++] = value; };
  put(c.start);
  put(c.duration);
  put(c.speed);
  put(c.air_flow);
  put(c.fuel_flow);
  put(c.fuel_flow > no_fuel ? c.lambda : nan);
  put(c.idle);
  for (const double port : c.ports) put(port);
  put(c.main);
  put(c.pump);
  put(c.enrichment);
  put(c.indicated_torque);
  put(c.friction_torque);
  put(c.torque);
  put(c.manifold_pressure);
  put(c.depression);
  const std::size_t rest = 4 * c.cylinders.size();
  if (values.size() == at + 1 + rest) put(c.lift);
  for (const auto& t : c.cylinders) {
    put(t.mass > 0.0 ? t.lambda : nan);
    put(t.mass > 0.0 ? t.residual : nan);
    put(t.ignited);
    put(t.mass);
  }
}

}  // namespace glassbowl::sim
