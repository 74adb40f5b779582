#include "sim/solver/steady_cycle.hpp"

#include "tests/bench/figures.hpp"
#include "tests/bench/points.hpp"

namespace glassbowl::bench {

using namespace sim;

void steady_cycles(Figures& out) {
  double plain = 0.0, accelerated = 0.0;
  for (const char* run : runs)
    for (const double opening : {5.0, 20.0, 60.0})
      for (const double speed : {2000.0, 4500.0}) {
        const auto resolved = held(run, opening, speed);
        const auto cycles = [&](int memory) {
          Simulation simulation(resolved.bike, resolved.plan.step);
          SteadyOptions options;
          options.tolerance = 1e-3;
          options.memory = memory;
          return find_steady_cycle(simulation, options).cycles;
        };
        plain += cycles(0);
        accelerated += cycles(SteadyOptions{}.memory);
      }
  out.push_back({"cycles to a steady one, plain against accelerated, cold", plain / accelerated, 7});
}

}  // namespace glassbowl::bench
