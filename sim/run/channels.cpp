#include "sim/run/channels.hpp"

#include <algorithm>
#include <cmath>
#include <iterator>
#include <limits>
#include <string>
#include <string_view>
#include <utility>

#include "sim/trace/cf_conventions.hpp"

namespace glassbowl::sim {
namespace {

constexpr double nan = std::numeric_limits<double>::quiet_NaN();
constexpr double no_fuel = 1e-12;  // [kg/s] below this, nothing is delivered

std::string numbered(const std::string& name, std::size_t index) {
  return name + "_" + std::to_string(index + 1);
}

std::vector<std::size_t> kept_states(const StateMap& states) {
  std::vector<std::size_t> out;
  for (std::size_t i = 0; i < states.size; ++i)
    if (states.names[i].kept != m::Kept::no) out.push_back(i);
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

  ChannelTable(const StateMap& states, const Outputs<double>& s, const std::vector<Trapped>& trapped,
               const DerivedValues& derived) {
    const auto& at = states.carburetors.front();
    const auto& c = s.carburetor.front();
    add("throttle", "1", "rider's throttle, 0 on the stop and 1 wide open", "rider", s.controls.throttle);
    add("choke", "1", "rider's choke or enrichment lever, 1 fully on", "rider", s.controls.choke);
    add("tap", "1", "fuel tap, 1 open", "rider", s.controls.tap);
    add("altitude", "m", "altitude", "air", s.controls.altitude);
    add("ambient_pressure", "Pa", "pressure of the air outside", "air", s.outside.pressure);
    add("ambient_temperature", "K", "temperature of the air outside", "air", s.outside.temperature);

    add("plate_angle", "rad", "throttle plate angle", "throttle", c.plate.angle);
    add("plate_area", "m2", "effective area past the throttle plate", "throttle", c.plate.area);
    add("inlet_pressure", "Pa", "pressure behind the choke plate", "throat", c.bore.inlet);
    add("throat_pressure", "Pa", "static pressure in the throat", "throat", c.bore.throat);
    add("nozzle_pressure", "Pa", "static pressure at the main nozzle", "throat", c.bore.nozzle);
    add("depression", "Pa", "airbox pressure less that at the main nozzle", "throat", c.bore.depression);
    add("throat_area", "m2", "throat area", "throat", c.throat.area);
    add("needle_area", "m2", "effective area of the main nozzle or of the needle's annulus", "main",
        c.nozzle_area);
    if (at.piston.fitted())
      add("piston_chamber_pressure", "Pa", "pressure above the diaphragm", "piston",
          c.piston.chamber_pressure);

    for (std::size_t v = 0; v < states.volumes.count; ++v) {
      const auto& name = states.volumes.names[v];
      add(name + "_pressure", "Pa", "pressure", name, s.gas.pressure[v]);
      add(name + "_temperature", "K", "gas temperature", name, s.gas.temperature[v]);
    }
    for (std::size_t k = 0; k < states.cylinders; ++k) {
      const std::string name = numbered("cylinder", k);
      const auto& own = s.cylinder[k];
      add(name + "_volume", "m3", "volume above the piston", name, own.volume);
      add(name + "_intake_lift", "m", "intake valve lift", name, own.intake_lift);
      add(name + "_exhaust_lift", "m", "exhaust valve lift", name, own.exhaust_lift);
      add(name + "_burn_rate", "kg/s", "fuel burning", name, own.burn_rate);
      add(name + "_wall_heat", "W", "heat from gas to walls", name, own.wall_heat);
      add(name + "_trapped_lambda", "1",
          "in-cylinder lambda of the last charge, liquid fuel included, NaN before the first", name,
          derived.trapped_lambda[k]);
      add(name + "_trapped_residual", "1", "burned share of the last charge", name, trapped[k].residual);
    }
    for (std::size_t k = 0; k < states.cylinders; ++k) {
      const std::string name = numbered("film", k);
      add(name + "_deposited", "kg/s", "droplets landing on the film", name, s.film[k].deposited);
      add(name + "_evaporated", "kg/s", "vapour leaving the film", name, s.film[k].evaporated);
      add(name + "_crept", "kg/s", "film creeping into the cylinder", name, s.film[k].crept);
    }

    add("bowl_level", "m", "fuel level above the bowl joint face", "bowl", c.bowl.level);
    add("bowl_pressure", "Pa", "pressure on the fuel in the bowl", "bowl", c.bowl.pressure);
    add("feed_flow", "kg/s", "fuel from the tank into the bowl", "bowl", c.bowl.feed);
    add("overflow_flow", "kg/s", "fuel out of the bowl's overflow", "bowl", c.bowl.overflow);
    add("main_fuel_flow", "kg/s", "fuel out of the main nozzle", "main", c.main.nozzle_fuel);
    add("well_level", "m", "fuel level in the main well above the bowl joint face", "main",
        c.main.well_level);
    add("well_foot_pressure", "Pa", "pressure at the foot of the main well", "main", c.main.foot_pressure);
    add("well_air_pressure", "Pa", "air pressure above the fuel in the main well", "main",
        c.main.tube_pressure);
    add("riser_void_fraction", "1", "share of air in the riser", "main", c.main.void_fraction);
    add("uncovered_holes", "m2", "effective area of tube holes above the level", "main", c.main.uncovered);
    add("idle_fuel_flow", "kg/s", "fuel out of the idle outlet", "slow", c.slow.outlet.fuel);
    add("idle_air_flow", "kg/s", "air out of the idle outlet", "slow", c.slow.outlet.air);
    for (std::size_t i = 0; i < at.port_fuel.count; ++i) {
      const std::string name = numbered("port", i);
      add(name + "_fuel_flow", "kg/s", "fuel out of this transfer port", "slow", c.port[i].fuel);
      add(name + "_air_flow", "kg/s", "air out of this transfer port, negative inward", "slow",
          c.port[i].air);
      add(name + "_exposure", "1", "share of this transfer port below the plate's edge", "slow",
          c.exposure[i]);
    }
    add("slow_channel_pressure", "Pa", "pressure in the slow channel", "slow", c.slow.channel.pressure);
    add("slow_channel_fuel_share", "1", "fuel share of what leaves the slow channel", "slow",
        c.slow.channel.liquid);
    add("slow_air_flow", "kg/s", "air through the slow air jet", "slow", c.slow.air);
    if (at.pump.fitted()) {
      add("pump_fuel_flow", "kg/s", "fuel out of the pump nozzle", "pump", c.pump.nozzle);
      add("pump_inlet_flow", "kg/s", "fuel from the bowl into the pump", "pump", c.pump.inlet);
      add("pump_pressure", "Pa", "pressure in the pump above the bowl", "pump", c.pump.pressure);
    }
    if (at.enrichment.fitted()) {
      add("enrichment_fuel_flow", "kg/s", "fuel out of the cold-start enrichment", "enrichment",
          c.enrichment.outlet.fuel);
      add("enrichment_air_flow", "kg/s", "air through the enrichment's air jet", "enrichment",
          c.enrichment.air);
      add("enrichment_channel_pressure", "Pa", "pressure in the enrichment channel", "enrichment",
          c.enrichment.channel.pressure);
    }

    add("carburetor_air_flow", "kg/s", "air leaving the carburetor: bore, bleeds and air jets", "carburetor",
        derived.air);
    add("carburetor_fuel_flow", "kg/s", "fuel leaving all outlets", "carburetor", derived.fuel);
    add("lambda", "1",
        "air over fuel leaving the carburetor and the stoichiometric ratio, NaN while either does not flow "
        "out",
        "carburetor", derived.lambda);
    add("speed", "rad/s", "crank speed, held by the load or free", "crank", s.crank.omega);
    add("indicated_torque", "N m", "indicated torque", "crank", s.crank.indicated);
    add("friction_torque", "N m", "torque lost to friction", "crank", s.crank.friction);
    add("brake_torque", "N m", "brake torque", "crank", s.crank.brake);
    add("starter_torque", "N m", "torque of starter or kick", "crank", s.crank.starter);
    add("fuel_held", "kg", "all fuel in carburetor, films and gas, and how the tank has changed", "budget",
        derived.fuel_held, true);
    add("air_held", "kg", "all air in gas volumes and passages", "budget", derived.air_held, true);
  }
};

std::vector<Channel> state_channels(const StateMap& states) {
  std::vector<Channel> out;
  for (const std::size_t i : kept_states(states)) {
    const auto& n = states.names[i];
    out.push_back({n.name, n.unit, n.long_name, n.part, n.kept == m::Kept::wide});
  }
  return out;
}

/// What a cycle's figure is called: "cycle_", number and name.
struct CycleFigure {
  std::string_view name, unit, text, part;
  bool wide = false;
};

/// All figures of a cycle, each once: `add(figure, value)`, or `add_numbered(of, i, figure, value)` for those
/// of transfer ports and cylinders.
template <class Add, class AddNumbered>
void for_each_figure(const Cycle& c, Add&& add, AddNumbered&& add_numbered) {
  const auto mean = [&](const CycleFigure& figure, double value) { add(figure, true, value); };
  add({"start", "s", "time at which the cycle began", "crank", true}, false, c.start);
  add({"duration", "s", "how long the cycle took", "crank", true}, false, c.duration);
  mean({"speed", "rad/s", "crank speed", "crank"}, c.speed);
  mean({"air_flow", "kg/s", "air out of the carburetor", "carburetor"}, c.air_flow);
  mean({"fuel_flow", "kg/s", "fuel out of all outlets", "carburetor"}, c.fuel_flow);
  add({"lambda", "1", "lambda at the carburetor, mean over the cycle, NaN where no fuel flows out",
       "carburetor"},
      false, c.fuel_flow > no_fuel ? c.lambda : nan);
  mean({"idle_fuel_flow", "kg/s", "fuel out of the idle outlet", "slow"}, c.idle);
  for (std::size_t i = 0; i < c.ports.size(); ++i)
    add_numbered("port", i, {"fuel_flow", "kg/s", "fuel out of this transfer port", "slow"}, true,
                 c.ports[i]);
  mean({"main_fuel_flow", "kg/s", "fuel out of the main nozzle", "main"}, c.main);
  mean({"pump_fuel_flow", "kg/s", "fuel out of the accelerator pump", "pump"}, c.pump);
  mean({"enrichment_fuel_flow", "kg/s", "fuel out of the cold-start enrichment", "enrichment"}, c.enrichment);
  mean({"indicated_torque", "N m", "indicated torque", "crank"}, c.indicated_torque);
  mean({"friction_torque", "N m", "torque lost to friction", "crank"}, c.friction_torque);
  mean({"brake_torque", "N m", "brake torque", "crank"}, c.torque);
  mean({"manifold_pressure", "Pa", "manifold pressure", "manifold"}, c.manifold_pressure);
  mean({"depression", "Pa", "depression at the main nozzle", "throat"}, c.depression);
  if (c.has_piston) mean({"piston_lift", "m", "lift of the vacuum piston", "piston"}, c.lift);
  for (std::size_t k = 0; k < c.cylinders.size(); ++k) {
    const auto& t = c.cylinders[k];
    const bool known = t.mass > 0.0;
    const auto last = [&](const CycleFigure& figure, double value) {
      add_numbered("cylinder", k, figure, false, value);
    };
    last({"lambda", "1", "in-cylinder lambda of the last charge, liquid fuel included, NaN before the first",
          ""},
         known ? t.lambda : nan);
    last({"residual", "1", "burned share of the last charge, NaN before the first", ""},
         known ? t.residual : nan);
    last({"ignited", "1", "share of the last charge that lit", ""}, t.ignited);
    last({"mass", "kg", "mass of the last charge", ""}, t.mass);
  }
}

std::vector<Channel> cycle_channels(const StateMap& states) {
  Cycle any;
  any.has_piston = states.carburetors.front().piston.fitted();
  any.ports.resize(states.carburetors.front().port_fuel.count);
  any.cylinders.resize(states.cylinders);
  std::vector<Channel> out;
  const auto add = [&](const std::string& prefix, const CycleFigure& f, const std::string& part,
                       bool is_mean) {
    out.push_back({"cycle_" + prefix + std::string(f.name), std::string(f.unit),
                   std::string(f.text) + (is_mean ? std::string(cycle_mean) : ""), part, f.wide});
  };
  for_each_figure(
      any, [&](const CycleFigure& f, bool is_mean, double) { add("", f, std::string(f.part), is_mean); },
      [&](const char* of, std::size_t i, const CycleFigure& f, bool is_mean, double) {
        const std::string own = numbered(of, i);
        add(own + "_", f, f.part.empty() ? own : std::string(f.part), is_mean);
      });
  return out;
}

}  // namespace

ChannelList all_channels(const Bike<double>& bike) {
  const Network<double> network(bike);
  const auto& states = network.states();
  const auto outputs = network.make_outputs();
  const std::vector<Trapped> trapped(states.cylinders);
  DerivedValues derived;
  derived.trapped_lambda.resize(states.cylinders);
  ChannelList out{state_channels(states), cycle_channels(states)};
  ChannelTable table(states, outputs, trapped, derived);
  std::move(table.channels.begin(), table.channels.end(), std::back_inserter(out.time));
  return out;
}

ChannelReader::ChannelReader(Simulation& simulation)
    : simulation_(simulation), states_(kept_states(simulation.network().states())) {
  derived_.trapped_lambda.resize(simulation.network().states().cylinders);
  sources_ = ChannelTable(simulation.network().states(), simulation.outputs(), simulation.trapped(), derived_)
                 .sources;
  values_.resize(count());
}

std::span<const double> ChannelReader::read_current() {
  const auto& network = simulation_.network();
  const auto& states = network.states();
  const State& x = std::as_const(simulation_).state();
  const State& dx = simulation_.derivative();

  const auto& carburetor = states.carburetors.front();
  const auto rate = carburetor.totals.load(dx.data());
  derived_.air = rate.air;
  derived_.fuel = rate.idle + rate.main + rate.pump + rate.enrichment;
  for (std::size_t i = 0; i < carburetor.port_fuel.count; ++i) derived_.fuel += dx[carburetor.port_fuel[i]];
  derived_.lambda = derived_.fuel > no_fuel && derived_.air > 0.0
                        ? derived_.air / (derived_.fuel * network.bike().fuel.stoichiometric_ratio)
                        : nan;
  derived_.fuel_held = network.fuel_held(x.data());
  derived_.air_held = network.air_held(x.data());
  for (std::size_t k = 0; k < states.cylinders; ++k) {
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
  for_each_figure(
      c, [&](const CycleFigure&, bool, double value) { values[at++] = value; },
      [&](const char*, std::size_t, const CycleFigure&, bool, double value) { values[at++] = value; });
}

}  // namespace glassbowl::sim
