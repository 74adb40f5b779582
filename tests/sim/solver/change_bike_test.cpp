#include <catch2/catch.hpp>
#include <stdexcept>

#include "sim/cases/resolved_case.hpp"
#include "sim/run/find_case.hpp"
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
  REQUIRE(simulation.snapshot().plate_angle == fresh.snapshot().plate_angle);
  CHECK(simulation.snapshot().exposure == fresh.snapshot().exposure);
}

TEST_CASE("change of bike: other parts are refused", "[sim][solver]") {
  const auto resolved = read_case(find_case("slow_sweep"));
  Simulation simulation(resolved.bike, resolved.plan.step);
  auto bike = resolved.bike;
  bike.carburetor.pump.fitted = false;
  CHECK_THROWS_AS(simulation.change_bike(bike), std::invalid_argument);
}

}  // namespace glassbowl::sim
