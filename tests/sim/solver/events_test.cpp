#include <catch2/catch.hpp>
#include <vector>

#include "sim/bike/resolved_case.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/solver/simulation.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl;
using namespace glassbowl::sim;

namespace {

ResolvedCase fast(const std::string& opening) {
  return read_case(find_case("slow_sweep"), {"load.kind=held_speed", "load.speed=7000 rpm", "rider.choke=0 %",
                                             "rider.throttle=" + opening});
}

/// How long the charges will burn [rad], as decided one after the other over some cycles.
std::vector<double> decided(const Simulation& from, double step) {
  Simulation simulation(from);
  StepOptions steps = from.step_options();
  steps.step = step;
  simulation.use_steps(steps);
  std::vector<double> out;
  while (out.size() < 8) {
    simulation.advance(simulation.time() + 80e-6);
    const double now = simulation.discrete().ignition[0].burn_duration;
    if (out.empty() || now != out.back()) out.push_back(now);
  }
  return out;
}

}  // namespace

TEST_CASE("events: a charge is judged at its own angle, wherever the steps lie", "[sim][solver][events]") {
  // Droplets evaporate while it is compressed: judged at the end of steps of 80 us it would be judged up to 3
  // deg late, and burn up to 1.2 % sooner.
  const auto resolved = fast("50 %");
  Simulation settled(resolved.bike, resolved.plan.step);
  settled.advance(1.0);
  const auto coarse = decided(settled, 80e-6), fine = decided(settled, 5e-6);
  for (std::size_t i = 0; i < fine.size(); ++i)
    CHECK_THAT(coarse[i],
               tests::near(fine[i], tests::relative(3e-3, "a straight line over the longer step")));
}

TEST_CASE("events: a tight tolerance is met where flows turn round in an open valve",
          "[sim][solver][events]") {
  // Hot gas of another density is drawn back there; no step would do if the rate jumped with it.
  const auto resolved = fast("100 %");
  StepOptions tight = resolved.plan.step;
  tight.method = Method::error_controlled;
  tight.tolerance = 1e-8;
  Simulation simulation(resolved.bike, tight);
  CHECK(simulation.advance(0.3));
  CHECK(simulation.cycles() > 10);
}
