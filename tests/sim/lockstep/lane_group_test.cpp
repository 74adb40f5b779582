#include "sim/lockstep/lane_group.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <map>
#include <memory>
#include <stdexcept>

#include "sim/api/error.hpp"
#include "sim/bike/resolved_case.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/lanes/instruction_set.hpp"
#include "tests/support/tolerance.hpp"

namespace glassbowl::sim {
namespace {

ResolvedCase at(const std::string& run, double opening, double speed, std::vector<std::string> more = {}) {
  more.insert(more.end(), {"load.kind=held_speed", "rider.choke=0 %", "rider.starter=0 %",
                           "rider.throttle=" + std::to_string(opening) + " %",
                           "load.speed=" + std::to_string(speed) + " rpm"});
  return read_case(find_case(run), more);
}

/// Different in throttle, speed, altitude, sizes and faults; more of them than lanes.
std::vector<ResolvedCase> different_bikes(const std::string& run) {
  std::vector<ResolvedCase> out;
  for (int k = 0; k < 21; ++k)
    out.push_back(at(run, 3.0 + 4.5 * k, 1500.0 + 215.0 * k,
                     {"air.altitude=" + std::to_string(125 * k) + " m",
                      "carburetor.main.jet.bore=" + std::to_string(1.2 + 0.025 * k) + " mm",
                      "carburetor.main.holes_plugged=" + std::to_string(k == 4 ? 60 : 0) + " %",
                      "engine.combustion.weak_spark=" + std::to_string(k == 7 ? 90 : 0) + " %"}));
  return out;
}

/// The steps of a case, with rates of either precision.
StepOptions steps_of(const ResolvedCase& resolved, bool single_rates) {
  StepOptions out = resolved.plan.step;
  out.single_rates = single_rates;
  return out;
}

constexpr double duration = 0.35;  // [s]

/// Marches all by one group, lanes refilled as they fall empty.
void together(LaneGroup& group, std::vector<std::unique_ptr<Simulation>>& all,
              const std::function<void(const Cycle&)>& on_cycle) {
  std::size_t next = 0;
  const auto fill = [&](std::size_t lane) {
    if (next < all.size()) {
      // Legs of different lengths, so that they do not end together.
      group.put(lane, {all[next].get(), duration + 0.013 * static_cast<double>(next), &on_cycle});
      ++next;
    }
  };
  for (std::size_t lane = 0; lane < group.size(); ++lane) fill(lane);
  for (auto arrived = group.advance(); !arrived.empty(); arrived = group.advance())
    for (const auto& a : arrived) {
      REQUIRE_FALSE(a.failure);
      fill(a.lane);
    }
}

}  // namespace

TEST_CASE("lanes: side by side every bike does to the bit what it does alone", "[sim][lanes]") {
  const bool single = GENERATE(false, true);
  for (const std::string run : {"slow_sweep", "warm_idle_piston"}) {
    const auto cases = different_bikes(run);
    std::vector<State> alone;
    long cycles_alone = 0, misfires = 0;
    for (std::size_t k = 0; k < cases.size(); ++k) {
      Simulation simulation(cases[k].bike, steps_of(cases[k], single));
      simulation.advance(duration + 0.013 * static_cast<double>(k), [&](const Cycle&) { ++cycles_alone; });
      alone.push_back(simulation.state());
      misfires += simulation.misfires();
    }
    CHECK(misfires > 0);  // one of them has a weak spark: it must not disturb the others
    for (const auto& instructions : instruction_sets()) {
      INFO(run << " with " << instructions << (single ? " in single precision" : ""));
      const auto group = make_lane_group(instructions, single);
      std::vector<std::unique_ptr<Simulation>> all;
      for (const auto& one : cases)
        all.push_back(std::make_unique<Simulation>(one.bike, steps_of(one, single)));
      long cycles = 0;
      together(*group, all, [&](const Cycle&) { ++cycles; });
      CHECK(cycles == cycles_alone);
      for (std::size_t k = 0; k < all.size(); ++k) {
        INFO("bike " << k);
        CHECK(all[k]->state() == alone[k]);
      }
    }
  }
}

TEST_CASE("lanes: an engine left to itself goes through start and blip as it does alone", "[sim][lanes]") {
  const auto resolved = read_case(find_case("blip"));
  const auto advance_alone = [&](double to) {
    Simulation simulation(resolved.bike, resolved.plan.step);
    simulation.set_time(-0.5);
    simulation.advance(to);
    return simulation.state();
  };
  const auto group = make_lane_group();
  std::vector<std::unique_ptr<Simulation>> all;
  for (std::size_t k = 0; k < group->size(); ++k) {
    all.push_back(std::make_unique<Simulation>(resolved.bike, resolved.plan.step));
    all.back()->set_time(-0.5);
    group->put(k, {all.back().get(), 0.1 + 0.05 * static_cast<double>(k), nullptr});
  }
  while (!group->advance().empty()) {
  }
  for (std::size_t k = 0; k < all.size(); ++k)
    CHECK(all[k]->state() == advance_alone(0.1 + 0.05 * static_cast<double>(k)));
}

TEST_CASE("lanes: who moves to another group in the midst of a leg goes on to the bit", "[sim][lanes]") {
  const bool single = GENERATE(false, true);
  const auto cases = different_bikes("slow_sweep");
  auto group = make_lane_group({}, single);
  std::size_t seated = std::min(group->size(), cases.size());
  const auto end = [](std::size_t bike) { return 0.2 - 0.01 * static_cast<double>(bike); };  // the last first
  std::vector<std::unique_ptr<Simulation>> all;
  for (std::size_t k = 0; k < seated; ++k) {
    all.push_back(std::make_unique<Simulation>(cases[k].bike, steps_of(cases[k], single)));
    group->put(k, {all[k].get(), end(k), nullptr});
  }
  while (true) {
    const auto arrived = group->advance();
    REQUIRE(arrived.size() == 1);
    REQUIRE(arrived[0].lane == --seated);
    if (seated == 0) break;
    auto narrower = make_lane_group_for(seated, single);
    CHECK(narrower->size() >= seated);
    CHECK(narrower->size() < std::max<std::size_t>(2 * seated, single ? 5 : 1));  // none between one and four
    for (std::size_t lane = 0; lane < seated; ++lane) {
      const Leg leg = group->remove(lane);
      CHECK(group->empty(lane));
      CHECK(leg.simulation->time() < leg.limit);
      // Whoever has not begun moves as well.
      group->put(lane, leg);
      narrower->put(lane, group->remove(lane));
    }
    group = std::move(narrower);
  }
  for (std::size_t k = 0; k < all.size(); ++k) {
    INFO("bike " << k);
    Simulation alone(cases[k].bike, steps_of(cases[k], single));
    alone.advance(end(k));
    CHECK(all[k]->state() == alone.state());
  }
}

TEST_CASE("lanes: rates in single precision keep to those in double precision", "[sim][lanes]") {
  // Its last place is 6e-8; differences of pressures and sums of heats magnify that. Air and fuel come with
  // the same error of discretisation.
  for (const std::string run : {"slow_sweep", "warm_idle_piston"})
    for (const double opening : {4.0, 30.0, 100.0}) {
      INFO(run << " at " << opening << " %");
      const auto resolved = at(run, opening, 4000.0);
      Simulation doubles(resolved.bike, steps_of(resolved, false));
      doubles.advance(1.0);
      Simulation singles(doubles);
      singles.use_steps(steps_of(resolved, true));
      Cycle by_doubles, by_singles;
      doubles.advance(1.5, [&](const Cycle& c) { by_doubles = c; });
      singles.advance(1.5, [&](const Cycle& c) { by_singles = c; });
      CHECK(by_singles.number == by_doubles.number);
      CHECK(by_singles.air_flow != by_doubles.air_flow);
      const auto bound = tests::relative(1e-4, "a tenth of what fixed steps promise");
      CHECK_THAT(by_singles.air_flow, tests::near(by_doubles.air_flow, bound));
      CHECK_THAT(by_singles.fuel_flow, tests::near(by_doubles.fuel_flow, bound));
    }
}

TEST_CASE("lanes: what fails in one lane fails there alone, with its reason", "[sim][lanes]") {
  const auto resolved = at("slow_sweep", 20.0, 3000.0);
  Simulation sound(resolved.bike, resolved.plan.step), reference(resolved.bike, resolved.plan.step),
      broken(resolved.bike, resolved.plan.step);
  reference.advance(0.05);
  broken.state()[broken.network().states().carburetors[0].bowl.index(&m::BowlState<double>::fuel)] =
      std::nan("");
  const auto group = make_lane_group("sse2");
  group->put(0, {&broken, 0.05, nullptr});
  group->put(1, {&sound, 0.05, nullptr});
  int failures = 0;
  for (auto arrived = group->advance(); !arrived.empty(); arrived = group->advance())
    for (const auto& a : arrived)
      if (a.failure) {
        ++failures;
        CHECK(a.lane == 0);
        CHECK_THROWS_AS(std::rethrow_exception(a.failure), Error);
      }
  CHECK(failures == 1);
  CHECK(sound.state() == reference.state());
}

namespace {

/// Why a simulation cannot take its next step, alone; empty if it can.
std::string failure_alone(Simulation simulation) {
  try {
    simulation.advance(simulation.time() + simulation.step_options().step);
  } catch (const Error& failure) {
    return failure.what();
  }
  return {};
}

/// The same on a lane, beside a neighbour that must take it as it does alone.
std::string failure_beside(LaneGroup& group, Simulation simulation, Simulation neighbour) {
  const double limit = simulation.time() + simulation.step_options().step;
  Simulation reference(neighbour);
  reference.advance(limit);
  const std::size_t lane = group.size() - 1;
  group.put(lane, {&simulation, limit, nullptr});
  group.put(0, {&neighbour, limit, nullptr});
  std::string text;
  for (auto arrived = group.advance(); !arrived.empty(); arrived = group.advance())
    for (const auto& a : arrived) try {
        if (a.failure) std::rethrow_exception(a.failure);
      } catch (const Error& failure) {
        CHECK(a.lane == lane);
        text = failure.what();
      }
  CHECK(neighbour.state() == reference.state());
  return text;
}

}  // namespace

TEST_CASE("lanes: any state below its bound, or infinite, fails there as it does alone", "[sim][lanes]") {
  const auto resolved = at("slow_sweep", 20.0, 3000.0);
  for (const auto& instructions : instruction_sets()) {
    if (instructions == "scalar") continue;
    for (const bool single_rates : {false, true}) {
      const StepOptions steps = steps_of(resolved, single_rates);
      Simulation sound(resolved.bike, steps);
      sound.advance(0.02);
      const auto& names = sound.network().states().names;
      const auto& lowest = sound.step_check().lowest();
      std::size_t bounded = 0, below = 0, infinite = 0;
      for (std::size_t i = 0; i < names.size(); ++i) {
        if (!std::isfinite(lowest[i])) continue;
        ++bounded;
        CAPTURE(instructions, single_rates, names[i].name);
        for (const double value : {lowest[i] - names[i].nominal, double(INFINITY)}) {
          Simulation broken(sound);
          broken.state()[i] = value;
          const auto group = make_lane_group(instructions, single_rates);
          const std::string alone = failure_alone(broken);
          CHECK(failure_beside(*group, broken, sound) == alone);
          (value < 0.0 ? below : infinite) += !alone.empty();
        }
      }
      CHECK(bounded > 30);
      CHECK(below > bounded / 2);  // some fill again within the step
      CHECK(infinite == bounded);
    }
  }
}

TEST_CASE("lanes: each has the bound of its own bike", "[sim][lanes]") {
  const auto small = at("slow_sweep", 20.0, 3000.0, {"supply.fuel_volume=1 l"}),
             large = at("slow_sweep", 20.0, 3000.0, {"supply.fuel_volume=9 l"});
  for (const bool single_rates : {false, true}) {
    Simulation empty(small.bike, steps_of(small, single_rates)),
        full(large.bike, steps_of(large, single_rates));
    const std::size_t tank = empty.network().states().tank.index(&m::TankState<double>::fuel_change);
    empty.state()[tank] = full.state()[tank] = -2.0;  // [kg] of fuel gone
    const std::string alone = failure_alone(empty);
    CHECK(alone.find("below its bound") != std::string::npos);
    REQUIRE(failure_alone(full).empty());
    CHECK(failure_beside(*make_lane_group({}, single_rates), empty, full) == alone);
    CHECK(failure_beside(*make_lane_group({}, single_rates), full, full).empty());
  }
}

TEST_CASE("lanes: other parts, or instructions that are unknown, are refused", "[sim][lanes]") {
  const auto one = at("slow_sweep", 20.0, 3000.0), other = at("warm_idle_piston", 20.0, 3000.0);
  Simulation a(one.bike, one.plan.step), b(other.bike, other.plan.step);
  const auto group = make_lane_group();
  group->put(0, {&a, 0.01, nullptr});
  CHECK_THROWS_AS(group->put(1, {&b, 0.01, nullptr}), std::invalid_argument);
  while (!group->advance().empty()) {
  }
  CHECK_NOTHROW(group->put(1, {&b, 0.01, nullptr}));  // now that nobody else is there
  CHECK_THROWS_AS(make_lane_group("abacus"), Error);
}

TEST_CASE(
    "lanes: every group, of one as well, refuses a taken lane, steps that are not fixed, another precision",
    "[sim][lanes]") {
  auto resolved = at("slow_sweep", 20.0, 3000.0);
  Simulation a(resolved.bike, resolved.plan.step), b(resolved.bike, resolved.plan.step);
  resolved.plan.step.method = Method::error_controlled;
  Simulation controlled(resolved.bike, resolved.plan.step);
  for (const auto& instructions : instruction_sets()) {
    INFO(instructions);
    const auto group = make_lane_group(instructions);
    CHECK(group->size() ==
          std::map<std::string, std::size_t>{{"scalar", 1}, {"sse2", 2}, {"avx2", 4}, {"avx512", 8}}.at(
              instructions));
    CHECK_THROWS_AS(group->put(0, {&controlled, 0.01, nullptr}), std::invalid_argument);
    group->put(0, {&a, 0.01, nullptr});
    CHECK_THROWS_AS(group->put(0, {&b, 0.01, nullptr}), std::invalid_argument);
    CHECK(group->remove(0).simulation == &a);
    const auto singles = make_lane_group(instructions, true);
    CHECK(singles->size() == (instructions == "scalar" ? 1 : 2 * group->size()));
    CHECK_THROWS_AS(singles->put(0, {&b, 0.01, nullptr}), std::invalid_argument);
  }
}

}  // namespace glassbowl::sim
