#include "sim/lanes/instruction_set.hpp"

#include <catch2/catch.hpp>
#include <cstdlib>
#include <optional>
#include <utility>

#include "sim/api/error.hpp"
#include "sim/bike/resolved_case.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/solver/simulation.hpp"

namespace glassbowl::sim {
namespace {

/// Asks for an instruction set as a user does, as long as it lives.
class Asked {
 public:
  explicit Asked(const std::string& set) {
    if (const char* before = std::getenv(name)) before_ = before;
    ::setenv(name, set.c_str(), 1);
  }
  ~Asked() { before_ ? ::setenv(name, before_->c_str(), 1) : ::unsetenv(name); }

 private:
  static constexpr const char* name = "GLASSBOWL_INSTRUCTIONS";
  std::optional<std::string> before_;
};

State rates_by(const std::string& set, const Bike<double>& bike, const Simulation& at) {
  const Asked asked(set);
  const Network<double> network(bike);
  auto outputs = network.make_outputs();
  auto scratch = network.make_scratch();
  State out(at.state().size());
  network.rates(at.time(), at.state().data(), at.discrete(), out.data(), scratch, &outputs);
  return out;
}

}  // namespace

TEST_CASE("instructions: a bike's rates are the same to the bit by every set that the processor has",
          "[sim][network]") {
  for (const std::string run : {"slow_sweep", "slow_sweep_piston", "starvation", "bikes/goat_400"}) {
    const auto resolved =
        read_case(find_case(run), {"load.kind=held_speed", "load.speed=3500 rpm", "rider.throttle=22 %",
                                   "runner.cells=3", "run.step=20 us", "run.duration=1 s"});
    Simulation simulation(resolved.bike, resolved.plan.step);
    for (int moment = 0; moment < 40; ++moment) {
      simulation.advance(simulation.time() + 0.0041);
      const State scalar = rates_by("scalar", resolved.bike, simulation);
      for (const auto& set : instruction_sets()) {
        INFO(run << " by " << set << " at " << simulation.time() << " s");
        CHECK(rates_by(set, resolved.bike, simulation) == scalar);
      }
    }
  }
}

TEST_CASE("instructions: the widest set unless asked for another, and no unknown one", "[sim][network]") {
  const Asked for_nothing("");
  CHECK(chosen_instruction_set() == instruction_sets().back());
  for (const auto& set : instruction_sets()) {
    const Asked asked(set);
    CHECK(chosen_instruction_set() == set);
  }
  const Asked asked("abacus");
  CHECK_THROWS_AS(chosen_instruction_set(), Error);
}

}  // namespace glassbowl::sim
