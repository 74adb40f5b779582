#include "tests/bench/points.hpp"

#include <fmt/format.h>

#include "sim/run/find_case.hpp"

namespace glassbowl::bench {

using namespace sim;

ResolvedCase held(const char* run, double opening, double speed, const std::vector<std::string>& more) {
  std::vector<std::string> sets{"load.kind=held_speed", "rider.choke=0 %", "rider.starter=0 %",
                                fmt::format("rider.throttle={:.17g} %", opening),
                                fmt::format("load.speed={:.17g} rpm", speed)};
  sets.insert(sets.end(), more.begin(), more.end());
  return read_case(find_case(run), sets);
}

Points points(const std::vector<std::string>& more) {
  Points out;
  for (const char* run : runs) {
    out.emplace_back();
    for (int k = 0; k < 16; ++k)
      out.back().push_back(held(run, 5.0 + 6.0 * k, 1500.0 + 1500.0 * (k % 4), more));
  }
  return out;
}

void alone(const Points& points, const Listener& on_cycle) {
  std::size_t point = 0;
  for (const auto& same : points)
    for (const auto& one : same) {
      Simulation simulation(one.bike, one.plan.step);
      if (on_cycle)
        simulation.advance(marched, [&](const Cycle& cycle) { on_cycle(point, cycle); });
      else
        simulation.advance(marched);
      ++point;
    }
}

void side_by_side(const Points& points, const MakeGroup& make) {
  const auto group = make();
  for (const auto& same : points) {
    std::vector<std::unique_ptr<Simulation>> all;
    for (const auto& one : same) all.push_back(std::make_unique<Simulation>(one.bike, one.plan.step));
    std::size_t next = 0;
    const auto fill = [&](std::size_t lane) {
      if (next < all.size()) group->put(lane, {all[next++].get(), marched, nullptr});
    };
    for (std::size_t lane = 0; lane < group->size(); ++lane) fill(lane);
    for (auto arrived = group->advance(); !arrived.empty(); arrived = group->advance())
      for (const auto& a : arrived) fill(a.lane);
  }
}

}  // namespace glassbowl::bench
