#include "sim/run/budget.hpp"

#include <catch2/catch.hpp>

#include "sim/solver/simulation.hpp"
#include "tests/sim/run/short_case.hpp"

namespace glassbowl::sim {

TEST_CASE("budget: what is put in by hand is found missing", "[sim][run][balance]") {
  const auto resolved = short_case();
  Simulation simulation(resolved.bike, resolved.plan.step);
  const auto& states = simulation.network().states();
  const State first = std::as_const(simulation).state();
  const BudgetKeeper keeper(simulation.network(), first);
  simulation.advance(0.1);
  State later = std::as_const(simulation).state();
  const Budget sound = keeper.close(later);
  CHECK(sound.fuel < 1e-9);
  CHECK(sound.air < 1e-9);
  CHECK(sound.energy < 1e-8);

  later[states.carburetors[0].bowl.index(&m::BowlState<double>::fuel)] += 1e-6;
  CHECK(keeper.close(later).fuel > 1e-4);
  CHECK(keeper.close(later).fuel_missing == Approx(-1e-6).epsilon(1e-4));
  later[states.gas.index(m::air, states.carburetors[0].manifold)] += 1e-7;
  CHECK(keeper.close(later).air > 1e-6);
  later[states.gas.index(m::energy, states.carburetors[0].manifold)] += 1.0;
  CHECK(keeper.close(later).energy > 1e-5);
  CHECK(keeper.close(later).energy_volume == "manifold");
}

TEST_CASE("budget: a mass below zero is reported by name", "[sim][run]") {
  const auto resolved = short_case();
  const Simulation simulation(resolved.bike, resolved.plan.step);
  const auto& states = simulation.network().states();
  State state = simulation.state();
  BudgetKeeper keeper(simulation.network(), state);
  CHECK(keeper.close(state).lowest_margin >= 0.0);
  state[states.films[1].index(&m::WallFilmState<double>::fuel)] = -1e-6;
  keeper.watch(state);
  CHECK(keeper.close(state).lowest_margin < 0.0);
  CHECK(keeper.close(state).lowest_margin_name == "film_2_fuel");
}

}  // namespace glassbowl::sim
