#include <fmt/format.h>

#include <cstdlib>

#include "tests/hardening/long_run.hpp"

// long_run SECONDS TRACE: prints figures of a long ride; exit code 1 if one is out of its bounds.
int main(int argc, char** argv) {
  using namespace glassbowl::hardening;
  if (argc != 3) {
    fmt::print(stderr, "long_run SECONDS TRACE\n");
    return 2;
  }
  const double seconds = std::atof(argv[1]);
  const LongRun run = run_long(seconds, 0.25 * seconds, argv[2]);
  fmt::print(
      "long run: {} s simulated; memory grew by {:.2f} MiB after the warm-up; budgets: fuel {:.2g}, air "
      "{:.2g}, "
      "energy {:.2g}; largest drift of cycle means {:.2g} ({})\n",
      run.simulated, run.memory_growth / 1048576.0, run.budget.fuel, run.budget.air, run.budget.energy,
      run.drift, run.drifting);
  const bool held = run.memory_growth <= 1048576.0 && run.budget.fuel <= 1e-9 && run.budget.air <= 1e-9 &&
                    run.budget.energy <= 1e-9 && run.drift <= 1e-6;
  return held ? 0 : 1;
}
