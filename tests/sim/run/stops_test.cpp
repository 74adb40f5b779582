#include <catch2/catch.hpp>
#include <cmath>

#include "sim/solver/simulation.hpp"
#include "tests/sim/cases/message_of.hpp"
#include "tests/sim/studies/study_bike.hpp"

namespace glassbowl::sim {

TEST_CASE("vacuum piston: a stop too soft for its diaphragm is refused, the softest allowed holds the piston",
          "[sim][run][limit]") {
  const auto with = [](const std::string& stiffness) {
    return bike("courier_650", {"carburetor.piston.stop_stiffness=" + stiffness, "load.speed=6000 rpm",
                                "carburetor.piston.travel=12 mm",
                                R"(rider.throttle=[["0.2 s", "0 %"], ["0.25 s", "100 %"]])"});
  };
  const std::string refusal = message_of([&] { with("2 N/mm"); });
  CHECK_THAT(refusal, Catch::Contains("carburetor.piston.stop_stiffness") && Catch::Contains("N/mm"));
  const std::size_t at = refusal.find("at least ");
  REQUIRE(at != std::string::npos);
  const auto softest = std::stoi(refusal.substr(at + 9));
  CHECK(message_of([&] { with(std::to_string(softest - 1) + " N/mm"); }) != "(no error)");
  const ResolvedCase resolved = with(std::to_string(softest) + " N/mm");
  Simulation simulation(resolved.bike, resolved.plan.step);
  const auto lift =
      simulation.network().states().carburetors[0].piston.index(&m::VacuumPistonState<double>::lift);
  const double travel = resolved.bike.carburetor.piston.travel;
  double highest = 0.0, lowest = 0.0;
  for (double t = 1e-3; t < 1.0; t += 1e-3) {
    simulation.advance(t);
    const double x = std::as_const(simulation).state()[lift];
    highest = std::max(highest, x);
    lowest = std::min(lowest, x);
  }
  CHECK(highest > travel);  // it is thrown against the stop
  CHECK(highest < travel + 2e-3);
  CHECK(lowest > -2e-3);
}

}  // namespace glassbowl::sim
