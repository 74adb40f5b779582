#include "sim/steady/steady_cycle.hpp"

#include <catch2/catch.hpp>
#include <exception>
#include <utility>

#include "sim/api/error.hpp"
#include "sim/bike/resolved_case.hpp"
#include "sim/bike/stable_step.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/steady/slow_states.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl;
using namespace glassbowl::sim;

namespace {

ResolvedCase held(const std::string& run, const std::string& opening, const std::string& speed,
                  const std::vector<std::string>& more = {}) {
  std::vector<std::string> sets{"load.kind=held_speed", "load.speed=" + speed, "rider.choke=0 %",
                                "rider.starter=0 %", "rider.throttle=" + opening};
  sets.insert(sets.end(), more.begin(), more.end());
  return read_case(find_case(run), sets);
}

double film(const Simulation& simulation) {
  const auto& states = simulation.network().states();
  double sum = 0.0;
  for (std::size_t k = 0; k < states.cylinders; ++k)
    sum += simulation.state()[states.films[k].index(&m::WallFilmState<double>::fuel)];
  return sum;
}

/// The last cycle of a plain march.
Cycle march(Simulation& simulation, double span) {
  Cycle last;
  simulation.advance(span, [&](const Cycle& c) { last = c; });
  return last;
}

const auto same = tests::relative(1e-3, "the estimate of what is left is one");

}  // namespace

TEST_CASE("steady cycle: found ahead, it is where plain marching ends", "[sim][steady]") {
  // Twelve seconds are more than ten times the slowest time constant, the film's or the bowl's.
  const char* run = GENERATE("slow_sweep", "slow_sweep_piston");
  const char* opening = GENERATE("25 %", "40 %");
  const auto resolved = held(run, opening, "2500 rpm");
  CAPTURE(run, opening);

  Simulation plain(resolved.bike, resolved.plan.step);
  const Cycle last = march(plain, 12.0);

  Simulation searched(resolved.bike, resolved.plan.step);
  const SteadyCycle found = find_steady_cycle(searched);
  REQUIRE(found.converged);
  CHECK(found.cycles < 60);  // plainly it takes about 250
  CHECK_THAT(found.last.back().air_flow, tests::near(last.air_flow, same));
  CHECK_THAT(found.last.back().lambda_trapped(), tests::near(last.lambda_trapped(), same));
  CHECK_THAT(found.last.back().torque, tests::near(last.torque, same));
  CHECK_THAT(film(searched), tests::near(film(plain), tests::relative(2e-3, "as above, at either end")));
}

TEST_CASE("steady cycle: a slow channel that fills unseen is waited for", "[sim][steady]") {
  // Wide open it stands empty at first, and joins in once it is full: with less than 0.1 % of the fuel, and
  // lambda falls by 0.5 to 1 %.
  const auto [bike, speed, least] = GENERATE(table<const char*, const char*, double>(
      {{"bikes/courier_650_butterfly", "5500 rpm", 0.0005}, {"bikes/mule_750", "3000 rpm", 0.0002}}));
  const double tolerance = GENERATE(3e-4, 5e-4);  // the default, and what studies ask for
  CAPTURE(bike, tolerance);
  const auto resolved =
      held(bike, "100 %", speed, {"run.duration=1 s", "carburetor.enrichment.fitted=false"});
  Simulation plain(resolved.bike, resolved.plan.step);
  const Cycle last = march(plain, 8.0);
  Simulation searched(resolved.bike, resolved.plan.step);
  const SteadyCycle found = find_steady_cycle(searched, {tolerance});
  REQUIRE(found.converged);
  CHECK_THAT(found.last.back().lambda_trapped(), tests::near(last.lambda_trapped(), same));
  CHECK(last.idle > least * last.fuel_flow);
  CHECK_THAT(found.last.back().idle,
             tests::near(last.idle, tests::relative(0.02, "a thousandth of the fuel at most")));
}

TEST_CASE("steady cycle: where none is found, the last cycles are those marched plainly", "[sim][steady]") {
  const auto resolved = held("slow_sweep", "40 %", "4000 rpm");
  const double nothing_will_do = 1e-13;
  Simulation whole(resolved.bike, resolved.plan.step), cut(resolved.bike, resolved.plan.step);
  SteadyCycle round;
  int by_longer = 0;
  for (March steps = march_to_steady_cycle(whole, {nothing_will_do}, round); steps.next();) {
    by_longer += whole.step_options().single_rates ? 1 : 0;
    whole.advance(steps.leg().limit, steps.leg().listener());
  }
  REQUIRE_FALSE(round.converged);
  CHECK(round.last.size() == 48);
  CHECK(round.last.back().number - round.last.front().number == 47);
  // Ended before so many were marched plainly, which begins 90 after the longer steps: without those before.
  const int few = 20;
  const SteadyCycle early = find_steady_cycle(cut, {nothing_will_do, 3, by_longer + 90 + few});
  REQUIRE_FALSE(early.converged);
  CHECK(early.last.size() == few);
  CHECK(find_steady_cycle(cut, {nothing_will_do, 3, 30}).last.empty());
}

TEST_CASE("steady cycle: the longer steps of a search's beginning leave nothing behind", "[sim][steady]") {
  const auto resolved = held("slow_sweep", "40 %", "3000 rpm");
  Simulation searched(resolved.bike, resolved.plan.step);
  SteadyCycle found;
  int in_single = 0, at_the_end = 0;
  March steps = march_to_steady_cycle(searched, {}, found);
  while (steps.next()) {
    // Single precision goes with the longer steps, and neither comes back.
    const StepOptions& now = searched.step_options();
    CHECK(now.single_rates == (now.step > resolved.plan.step.step));
    in_single += now.single_rates ? 1 : 0;
    at_the_end = now.single_rates ? 0 : at_the_end + 1;
    searched.advance(steps.leg().limit, steps.leg().listener());
  }
  CHECK(in_single > 10);
  CHECK(at_the_end > 4);  // two from which a step follows, three that show the end
  REQUIRE(found.converged);
  CHECK(searched.step_options().step == resolved.plan.step.step);
  CHECK_FALSE(searched.step_options().single_rates);
  // From where it ended a plain march with the case's steps repeats the cycle.
  Simulation plain(searched);
  const Cycle last = march(plain, searched.time() + 0.2);
  CHECK_THAT(last.lambda_trapped(), tests::near(found.last.back().lambda_trapped(), same));
  CHECK_THAT(last.torque, tests::near(found.last.back().torque, same));
  // A search that does not come to its end gives the step back as well.
  Simulation cut(resolved.bike, resolved.plan.step);
  CHECK_FALSE(find_steady_cycle(cut, {1e-5, 3, 5, true}).converged);
  CHECK(cut.step_options().step == resolved.plan.step.step);
  CHECK_FALSE(cut.step_options().single_rates);
}

TEST_CASE("steady cycle: where longer steps cannot be followed, it goes on by the case's own",
          "[sim][steady]") {
  // Short wide exhaust pipes on small ports swing faster than the runners, by which longer steps are judged.
  const auto resolved = held("slow_sweep", "40 %", "3000 rpm",
                             {"exhaust.volume=0.05 l", "exhaust.length=20 mm", "exhaust.diameter=120 mm",
                              "numerics.response=50 us"});
  REQUIRE(2.0 * resolved.plan.step.step <= stable_step(resolved.bike.path));
  Simulation searched(resolved.bike, resolved.plan.step);
  SteadyCycle found;
  int failed = 0;
  March steps = march_to_steady_cycle(searched, {}, found);
  std::exception_ptr failure;
  while (steps.next(std::exchange(failure, nullptr))) {
    try {
      steps.leg().simulation->advance(steps.leg().limit, steps.leg().listener());
    } catch (const Error&) {
      failure = std::current_exception();
      ++failed;
    }
  }
  CHECK(failed == 1);
  REQUIRE(found.converged);
  CHECK(searched.step_options().step == resolved.plan.step.step);
  CHECK_FALSE(searched.step_options().single_rates);
  Simulation plain(resolved.bike, resolved.plan.step);
  const Cycle last = march(plain, 12.0);
  CHECK_THAT(found.last.back().lambda_trapped(), tests::near(last.lambda_trapped(), same));
  CHECK_THAT(found.last.back().torque, tests::near(last.torque, same));
}

TEST_CASE("steady cycle: it knows how far it still has to go", "[sim][steady]") {
  // Stopped early, a plain march is as far off as its estimate says, within a factor of three.
  const auto resolved = held("slow_sweep", "40 %", "4000 rpm");
  Simulation settled(resolved.bike, resolved.plan.step);
  REQUIRE(find_steady_cycle(settled, {1e-5, 3, 400, true}).converged);
  Simulation plain(resolved.bike, resolved.plan.step);
  const SteadyCycle early = find_steady_cycle(plain, {1e-5, 3, 60, false});
  CHECK_FALSE(early.converged);
  CHECK_THAT(early.why_not, Catch::Contains("after 60 cycles"));
  const double off = std::abs(film(plain) / film(settled) - 1.0);
  CHECK(off > 0.02);
  CHECK(early.change > off / 3.0);
  CHECK(early.change < off * 3.0);
}

TEST_CASE("slow states: read and put back, they leave a bike as it was", "[sim][steady]") {
  const auto resolved = held("slow_sweep_piston", "30 %", "3000 rpm");
  Simulation simulation(resolved.bike, resolved.plan.step);
  simulation.advance(0.5);
  const SlowStates slow(simulation, 0.04);
  State x = simulation.state();
  slow.write(slow.read(x), x);
  const auto& states = simulation.network().states();
  for (std::size_t i = 0; i < states.accumulators_begin(); ++i) {
    CAPTURE(states.names[i].name);
    CHECK_THAT(x[i],
               tests::near(simulation.state()[i], tests::relative(1e-12, "the airbox's gas filled anew")));
  }
}
