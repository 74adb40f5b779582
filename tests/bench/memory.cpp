#include <unistd.h>

#include <fstream>
#include <memory>
#include <vector>

#include "sim/solver/simulation.hpp"
#include "tests/bench/figures.hpp"
#include "tests/bench/points.hpp"

namespace glassbowl::bench {

void memory(Figures& out) {
  const auto resident = [] {
    std::ifstream file("/proc/self/statm");
    long all = 0, pages = 0;
    file >> all >> pages;
    return static_cast<double>(pages) * static_cast<double>(::sysconf(_SC_PAGESIZE)) / 1024.0;
  };
  const auto resolved = held("slow_sweep", 20.0, 3000.0);
  constexpr int many = 1000;
  std::vector<std::unique_ptr<sim::Simulation>> all;
  const double before = resident();
  for (int i = 0; i < many; ++i)
    all.push_back(std::make_unique<sim::Simulation>(resolved.bike, resolved.plan.step));
  out.push_back({"memory per operating point, KiB", (resident() - before) / many, 64, Figure::Goal::at_most});
}

}  // namespace glassbowl::bench
