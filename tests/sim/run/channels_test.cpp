#include "sim/run/channels.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <set>

#include "tests/sim/run/short_case.hpp"

namespace glassbowl::sim {

TEST_CASE("channels: every physical state is among them, and no name twice", "[sim][run]") {
  const auto bike = short_case().bike;
  const auto channels = all_channels(bike);
  std::set<std::string> names;
  for (const auto* list : {&channels.time, &channels.cycle})
    for (const auto& channel : *list) {
      INFO(channel.name);
      CHECK(names.insert(channel.name).second);
      CHECK_FALSE(channel.unit.empty());
      CHECK_FALSE(channel.long_name.empty());
      CHECK_FALSE(channel.part.empty());
    }
  for (const auto& state : StateMap(StateMap::parts_of(bike)).names) {
    if (state.accumulator) continue;
    INFO(state.name);
    CHECK(names.count(state.name) == 1);
  }
}

TEST_CASE("channels: energies and totals are kept with every digit, gas in volumes is not", "[sim][run]") {
  const auto bike = short_case().bike;
  const StateMap states(StateMap::parts_of(bike));
  const auto channels = all_channels(bike).time;
  const auto wide = [&](std::size_t state) {
    const auto at = std::find_if(channels.begin(), channels.end(),
                                 [&](const Channel& c) { return c.name == states.names[state].name; });
    REQUIRE(at != channels.end());
    return at->wide;
  };
  for (std::size_t v = 0; v < states.volumes.count; ++v) {
    INFO(states.volumes.names[v]);
    CHECK(wide(states.gas.index(m::energy, v)));
    CHECK_FALSE(wide(states.gas.index(m::air, v)));
    CHECK_FALSE(wide(states.gas.index(m::burned, v)));
  }
  CHECK(wide(states.enthalpy.begin));
  CHECK(wide(states.carburetors[0].totals.index(&CarburetorTotals<double>::main)));
  CHECK_FALSE(wide(states.passages.flow[states.carburetors[0].bore]));
}

TEST_CASE("channels: the reader gives states and pressures of the present moment", "[sim][run]") {
  const auto resolved = short_case();
  Simulation simulation(resolved.bike, resolved.plan.step);
  ChannelReader reader(simulation);
  const auto channels = all_channels(resolved.bike).time;
  REQUIRE(reader.count() == channels.size());
  simulation.advance(0.05);
  simulation.outputs();
  const auto values = reader.read_current();
  const auto value = [&](const std::string& name) {
    const auto at = std::find_if(channels.begin(), channels.end(),
                                 [&](const Channel& channel) { return channel.name == name; });
    REQUIRE(at != channels.end());
    return values[static_cast<std::size_t>(at - channels.begin())];
  };
  const auto& states = simulation.network().states();
  const State& x = std::as_const(simulation).state();
  CHECK(value("bowl_fuel") == x[states.carburetors[0].bowl.index(&m::BowlState<double>::fuel)]);
  CHECK(value("bore_flow") == x[states.passages.flow[states.carburetors[0].bore]]);
  CHECK(value("manifold_pressure") == simulation.outputs().gas[states.carburetors[0].manifold].pressure);
  CHECK(value("throttle") == 0.3);
  CHECK(value("ambient_pressure") > 8e4);
  CHECK(value("lambda") == Approx(value("carburetor_air_flow") / value("carburetor_fuel_flow") /
                                  resolved.bike.fuel.stoichiometric_ratio));
}

TEST_CASE("channels: a cycle's row fits its channels, with and without a vacuum piston", "[sim][run]") {
  auto bike = short_case().bike;
  for (const auto kind : {CarburetorKind::fixed_venturi, CarburetorKind::constant_depression}) {
    bike.carburetor.kind = kind;
    const StateMap states(StateMap::parts_of(bike));
    const auto channels = all_channels(bike).cycle;
    Cycle cycle;
    cycle.ports.assign(states.carburetors[0].port_fuel.count, 1.0);
    cycle.cylinders.resize(states.cylinders);
    cycle.cylinders.back().mass = 7.0;
    cycle.speed = 3.0;
    cycle.has_piston = kind == CarburetorKind::constant_depression;
    std::vector<double> values(channels.size(), -1.0);
    fill_cycle_row(cycle, values);
    CHECK(channels.back().name == "cycle_cylinder_2_mass");
    CHECK(values.back() == 7.0);
    CHECK(channels[2].name == "cycle_speed");
    CHECK(values[2] == 3.0);
    CHECK(std::count(values.begin(), values.end(), -1.0) == 0);
  }
}

TEST_CASE("channels: those that hold no number at times say when", "[sim][run]") {
  const auto resolved = short_case();
  const auto channels = all_channels(resolved.bike);
  const auto check = [](const std::vector<Channel>& list, std::span<const double> values) {
    REQUIRE(list.size() == values.size());
    int without = 0;
    for (std::size_t i = 0; i < values.size(); ++i) {
      if (std::isfinite(values[i])) continue;
      ++without;
      INFO(list[i].name << ": " << list[i].long_name);
      CHECK(list[i].long_name.find(", NaN ") != std::string::npos);
    }
    CHECK(without >= 3);
  };
  // At rest: nothing flows, nothing is trapped.
  Simulation simulation(resolved.bike, resolved.plan.step);
  ChannelReader reader(simulation);
  simulation.outputs();
  check(channels.time, reader.read_current());
  const StateMap states(StateMap::parts_of(resolved.bike));
  Cycle cycle;
  cycle.lambda = INFINITY;
  cycle.ports.assign(states.carburetors[0].port_fuel.count, 0.0);
  cycle.cylinders.resize(states.cylinders);
  std::vector<double> values(channels.cycle.size());
  fill_cycle_row(cycle, values);
  check(channels.cycle, values);
}

}  // namespace glassbowl::sim
