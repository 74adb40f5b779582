#include "sim/run/blip_lag.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "sim/run/run_case.hpp"
#include "tests/sim/run/short_case.hpp"
#include "tests/support/few_threads.hpp"

namespace glassbowl::sim {
namespace {

using Points = std::vector<std::pair<double, double>>;

std::optional<ThrottleMovement> movement(const Points& points, double duration = 5.0) {
  return find_throttle_movement(m::Schedule<>(points), duration);
}

}  // namespace

TEST_CASE("throttle movement: a stab is found from its start to its fall", "[sim][run]") {
  const auto blip = movement({{0.2, 0.0}, {0.26, 0.6}, {0.7, 0.6}, {0.8, 0.0}});
  REQUIRE(blip.has_value());
  CHECK(blip->start == 0.2);
  CHECK(blip->end == Approx(0.7 + 0.1 * 0.05 / 0.6));
}

TEST_CASE("throttle movement: slow sweeps, small twitches and closing are none", "[sim][run]") {
  CHECK_FALSE(movement({{0.0, 0.0}, {20.0, 1.0}}, 20.0).has_value());
  CHECK_FALSE(movement({{0.0, 0.3}, {0.1, 0.34}}).has_value());
  CHECK_FALSE(movement({{0.0, 0.8}, {0.1, 0.0}}).has_value());
  CHECK_FALSE(movement({{0.0, 0.4}}).has_value());
  CHECK_FALSE(movement({{6.0, 0.0}, {6.1, 1.0}}, 5.0).has_value());
}

TEST_CASE("throttle movement: one held open counts to the end of the run, ten seconds at most",
          "[sim][run]") {
  CHECK(movement({{1.0, 0.1}, {1.2, 0.5}}, 5.0)->end == 5.0);
  CHECK(movement({{1.0, 0.1}, {1.2, 0.5}}, 50.0)->end == 11.0);
  CHECK(movement({{-0.1, 0.1}, {0.4, 0.9}})->start == 0.0);
}

TEST_CASE("first rise: a dip before the rise does not count", "[sim][run][exact]") {
  const std::vector<ResponseTrack::Point> curve{{0.0, 10}, {1.0, 10}, {2.0, 4}, {3.0, 12}, {4.0, 30}};
  CHECK(*first_rise(curve, 1.0, 11.0) == Approx(2.875));
  CHECK(*first_rise(curve, 1.0, 21.0) == Approx(3.5));
  CHECK_FALSE(first_rise(curve, 1.0, 31.0).has_value());
  CHECK(*first_rise(curve, 3.5, 11.0) == Approx(3.5));
  CHECK(value_at(curve, 2.5) == Approx(8.0));
  CHECK(value_at(curve, -1.0) == 10.0);
  CHECK(value_at(curve, 9.0) == 30.0);
}

TEST_CASE("yardstick: taking the fuel out of the intake keeps pressure and temperature", "[sim][run]") {
  const auto resolved = short_case();
  Simulation simulation(resolved.bike, resolved.plan.step);
  simulation.advance(0.2);
  const auto& states = simulation.network().states();
  const auto before = simulation.outputs().gas;
  REQUIRE(before[states.carburetors[0].manifold].fraction[m::vapour] > 1e-3);
  clear_intake_of_fuel(simulation);
  const auto after = simulation.outputs().gas;
  for (std::size_t v = 0; v < states.volumes.intake().end(); ++v) {
    INFO(states.volumes.names[v]);
    CHECK(after[v].pressure == Approx(before[v].pressure).epsilon(1e-9));
    CHECK(after[v].temperature == Approx(before[v].temperature).epsilon(1e-9));
    CHECK(after[v].fraction[m::vapour] == 0.0);
    CHECK(after[v].fraction[m::droplets] == 0.0);
  }
}

TEST_CASE("yardstick: every charge it traps has the ideal mixture", "[sim][run]") {
  const auto resolved = short_case();
  Simulation simulation(resolved.bike, resolved.plan.step);
  simulation.advance(0.1);
  clear_intake_of_fuel(simulation);
  simulation.use_ideal_mixture(BlipWatch::ideal_lambda);
  simulation.advance(0.1 + 0.12);  // three cycles, so that one is all new
  for (const auto& trapped : simulation.trapped()) {
    // Residual gas brings a little fuel or air of the cycles before along.
    CHECK(trapped.lambda == Approx(BlipWatch::ideal_lambda).epsilon(0.03));
    CHECK(trapped.ignited > 0.9);
  }
}

TEST_CASE("blip lag: an opened throttle is judged against the ideal mixture", "[sim][run]") {
  const Summary s = run_case(opening_case(), {});
  REQUIRE(s.blip.has_value());
  const BlipLag& b = *s.blip;
  INFO(b.note);
  CHECK(b.note.empty());
  CHECK(b.start == 0.1);
  CHECK(b.end == 0.5);
  CHECK_FALSE(b.torque);
  CHECK(b.before == Approx(1500.0 * 3.1416 / 30.0).epsilon(0.01));
  CHECK(b.peak > 1.5 * b.before);
  CHECK(b.yardstick_10 > 0.0);
  CHECK(b.yardstick_10 < b.yardstick_50);
  CHECK(b.yardstick_50 < b.yardstick_90);
  CHECK(b.yardstick_90 < 0.4);
  CHECK(b.richest <= b.leanest);
  if (std::isfinite(b.rise_50)) CHECK(b.lag_50 == b.rise_50 - b.yardstick_50);
}

TEST_CASE("blip lag: an engine that cannot answer does not reach the yardstick's rise", "[sim][run]") {
  // Misfiring on everything: the yardstick cannot rise either, and that is said.
  const Summary dead = run_case(opening_case({"engine.combustion.weak_spark=100 %"}), {});
  REQUIRE(dead.blip.has_value());
  CHECK_FALSE(dead.blip->note.empty());
  CHECK(std::isnan(dead.blip->lag_50));
  // A starved carburetor: only the yardstick rises.
  const Summary lean =
      run_case(opening_case({"carburetor.main.jet.blocked=99 %", "carburetor.slow.jet.blocked=99 %",
                             "carburetor.pump.fitted=false"}),
               {});
  REQUIRE(lean.blip.has_value());
  CHECK(lean.blip->note.empty());
  CHECK(std::isfinite(lean.blip->yardstick_90));
  CHECK(std::isnan(lean.blip->rise_90));
  CHECK(lean.blip->leanest > 1.15);
  CHECK(lean.blip->lean_area > 0.0);
  CHECK(std::isnan(lean.blip->pump_volume));
}

TEST_CASE("blip lag: at held speed torque is what rises", "[sim][run]") {
  const Summary s = run_case(opening_case({"load.kind=held_speed"}), {});
  REQUIRE(s.blip.has_value());
  CHECK(s.blip->note.empty());
  CHECK(s.blip->torque);
  CHECK(s.blip->peak > s.blip->before + 5.0);
}

TEST_CASE("blip lag: where no thread is to be had for the yardstick, it is run after the other",
          "[sim][run][anomaly]") {
  const auto resolved = opening_case();
  const double wanted = run_case(resolved, {}).blip->yardstick_50;
  REQUIRE(std::isfinite(wanted));
  CHECK(tests::with_few_threads(
            1, [&] { return run_case(resolved, {}).blip->yardstick_50 == wanted ? 0 : 4; }) == 0);
}

}  // namespace glassbowl::sim
