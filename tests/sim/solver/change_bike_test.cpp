#include <catch2/catch.hpp>
#include <cmath>
#include <span>
#include <stdexcept>
#include <utility>
#include <vector>

#include "sim/bike/resolved_case.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/run/channels.hpp"
#include "sim/solver/simulation.hpp"

namespace glassbowl::sim {

TEST_CASE("change of bike: ports drilled elsewhere are laid open elsewhere, with the plate at rest",
          "[sim][solver]") {
  const auto resolved =
      read_case(find_case("slow_sweep"), {"rider.throttle=5 %", "load.speed=3000 rpm", "rider.choke=0 %"});
  Simulation simulation(resolved.bike, resolved.plan.step);
  simulation.advance(0.002);
  auto bike = resolved.bike;
  for (auto& port : bike.carburetor.ports) port.position += 0.5e-3;
  simulation.change_bike(bike);
  simulation.advance(0.004);
  Simulation fresh(bike, resolved.plan.step);
  fresh.advance(0.004);
  REQUIRE(simulation.outputs().carburetor[0].plate.angle == fresh.outputs().carburetor[0].plate.angle);
  CHECK(simulation.outputs().carburetor[0].exposure == fresh.outputs().carburetor[0].exposure);
}

TEST_CASE("change of bike: every volume and passage is that of the changed bike", "[sim][solver]") {
  const auto resolved = read_case(find_case("slow_sweep"), {"rider.throttle=30 %"});
  const auto changed = read_case(
      find_case("slow_sweep"), {"rider.throttle=30 %", "inlet.filter_clogged=60 %", "exhaust.diameter=25 mm",
                                "exhaust.volume=0.4 l", "inlet.airbox_volume=3 l", "runner.diameter=30 mm"});
  StepOptions steps = resolved.plan.step;
  steps.single_rates = GENERATE(false, true);
  Simulation simulation(resolved.bike, steps);
  simulation.advance(0.002);
  simulation.change_bike(changed.bike);
  Simulation fresh(changed.bike, steps);
  fresh.state() = std::as_const(simulation).state();
  fresh.set_time(simulation.time());
  simulation.outputs();
  fresh.outputs();
  CHECK(simulation.derivative() == fresh.derivative());
  simulation.advance(0.003);
  fresh.advance(0.003);
  CHECK(std::as_const(simulation).state() == std::as_const(fresh).state());
}

TEST_CASE("change of bike: a reader of channels goes on, and reads the changed bike", "[sim][solver]") {
  const auto resolved = read_case(find_case("slow_sweep"), {"rider.throttle=5 %"});
  Simulation simulation(resolved.bike, resolved.plan.step);
  ChannelReader reader(simulation);
  simulation.advance(0.002);
  simulation.outputs();
  const std::span<const double> before = reader.read_current();
  const std::vector<double> as_before(before.begin(), before.end());
  auto bike = resolved.bike;
  bike.carburetor.throttle.bore *= 1.1;
  const auto* gas = simulation.outputs().gas.pressure.data();
  simulation.change_bike(bike);
  simulation.advance(0.004);
  CHECK(simulation.outputs().gas.pressure.data() == gas);  // readers point there
  const auto now = reader.read_current();
  ChannelReader another(simulation);
  simulation.outputs();
  const auto expected = another.read_current();
  std::size_t changed = 0;
  for (std::size_t i = 0; i < now.size(); ++i) {
    INFO("channel " << i);
    CHECK((now[i] == expected[i] || (std::isnan(now[i]) && std::isnan(expected[i]))));
    changed += now[i] != as_before[i];
  }
  CHECK(changed > now.size() / 2);
}

TEST_CASE("change of step: it goes on as one made with that step would from there", "[sim][solver]") {
  const auto resolved = read_case(find_case("slow_sweep"), {"rider.throttle=20 %"});
  Simulation simulation(resolved.bike, resolved.plan.step);
  simulation.advance(0.002);
  StepOptions shorter = resolved.plan.step;
  shorter.step *= 0.3;
  Simulation other(resolved.bike, shorter);
  other.state() = std::as_const(simulation).state();
  other.set_time(simulation.time());
  simulation.use_steps(shorter);
  CHECK(simulation.step_options().step == shorter.step);
  simulation.advance(0.005);
  other.advance(0.005);
  CHECK(std::as_const(simulation).state() == std::as_const(other).state());
}

TEST_CASE("change of bike: other parts are refused", "[sim][solver]") {
  const auto resolved = read_case(find_case("slow_sweep"));
  Simulation simulation(resolved.bike, resolved.plan.step);
  auto bike = resolved.bike;
  bike.carburetor.pump.fitted = false;
  CHECK_THROWS_AS(simulation.change_bike(bike), std::invalid_argument);
}

}  // namespace glassbowl::sim
