#include <unistd.h>

#include <fstream>
#include <memory>
#include <vector>

#include "sim/lockstep/lane_group.hpp"
#include "sim/solver/simulation.hpp"
#include "tests/bench/figures.hpp"
#include "tests/bench/points.hpp"

namespace glassbowl::bench {

/// With the lanes that it goes on.
void memory(Figures& out) {
  const auto resident = [] {
    std::ifstream file("/proc/self/statm");
    long all = 0, pages = 0;
    file >> all >> pages;
    return static_cast<double>(pages) * static_cast<double>(::sysconf(_SC_PAGESIZE)) / 1024.0;
  };
  const auto resolved = held("slow_sweep", 20.0, 3000.0);
  constexpr std::size_t many = 1000;
  std::vector<std::unique_ptr<sim::Simulation>> all;
  std::vector<std::unique_ptr<sim::LaneGroup>> groups;
  const double before = resident();
  while (all.size() < many) {
    auto group = sim::make_lane_group();
    for (std::size_t lane = 0; lane < group->size(); ++lane) {
      all.push_back(std::make_unique<sim::Simulation>(resolved.bike, resolved.plan.step));
      group->put(lane, {all.back().get(), 1e-3, nullptr});
    }
    group->advance();  // which makes its columns
    groups.push_back(std::move(group));
  }
  out.push_back({"memory per operating point, KiB", (resident() - before) / static_cast<double>(all.size()),
                 64, Figure::Goal::at_most});
}

}  // namespace glassbowl::bench
