#include <fmt/format.h>

#include <cmath>
#include <list>

#include "tests/bench/figures.hpp"
#include "tests/bench/points.hpp"

/// How cost grows: exponents fitted to processor time by least squares of logarithms.
namespace glassbowl::bench {

using namespace sim;

namespace {

struct Load {
  double size;
  Work work;
};

double exponent(const std::vector<Load>& loads, const std::vector<double>& costs) {
  double x = 0.0, y = 0.0, xx = 0.0, xy = 0.0;
  const auto n = static_cast<double>(loads.size());
  for (std::size_t i = 0; i < loads.size(); ++i) {
    const double u = std::log(loads[i].size), v = std::log(costs[i]);
    x += u;
    y += v;
    xx += u * u;
    xy += u * v;
  }
  return (n * xy - x * y) / (n * xx - x * x);
}

std::vector<double> costs_of(const std::vector<Load>& loads) {
  std::vector<Work> all;
  for (const auto& load : loads) all.push_back(load.work);
  return interleaved(5, processor_time, all);
}

void fit(Figures& out, const std::string& row, const std::vector<Load>& loads,
         const std::vector<double>& costs) {
  out.push_back({row, exponent(loads, costs), 1.0, Figure::Goal::within_0_05,
                 fmt::format("from {:.0f} ms at {:g} to {:.0f} ms at {:g}", 1e3 * costs.front(),
                             loads.front().size, 1e3 * costs.back(), loads.back().size)});
}

}  // namespace

void linearity(Figures& out) {
  std::vector<Load> loads;
  for (const double seconds : {0.2, 0.4, 0.8, 1.6})
    loads.push_back({seconds, [seconds] {
                       const Point& point = points()[1];
                       point.start(point.step).advance(point.time + seconds);
                     }});
  fit(out, "cost against simulated seconds, exponent", loads, costs_of(loads));

  loads.clear();
  const std::size_t lanes = make_lane_group()->size();
  for (const std::size_t count : {lanes, 2 * lanes, 4 * lanes, 8 * lanes})
    loads.push_back({static_cast<double>(count), [count] {
                       std::vector<std::unique_ptr<Simulation>> all;
                       for (std::size_t i = 0; i < count; ++i) {
                         const Point& point = points()[i % points_a_bike];
                         all.push_back(std::make_unique<Simulation>(point.start(point.step)));
                       }
                       advance_together(all, 0.1, [] { return make_lane_group(); });
                     }});
  fit(out, "cost against points, exponent", loads, costs_of(loads));

  // Gas cells of the runners, beyond the one that each has at least: what comes with them costs extra; the
  // rest of the bike costs the same. The step suits the smallest.
  loads.clear();
  std::list<Simulation> bikes;
  for (const int cells : {1, 9, 17, 33, 64}) {
    const auto resolved =
        held(runs[0], 20.0, 3000.0, {fmt::format("runner.cells={}", cells), "run.step=5 us"});
    auto& bike = bikes.emplace_back(resolved.bike, resolved.plan.step);
    loads.push_back({static_cast<double>(cells - 1), [&bike] { bike.advance(bike.time() + 0.02); }});
  }
  auto costs = costs_of(loads);
  for (std::size_t i = 1; i < costs.size(); ++i) costs[i] -= costs[0];
  loads.erase(loads.begin());
  costs.erase(costs.begin());
  fit(out, "added cost against added cells of each runner, exponent", loads, costs);
}

}  // namespace glassbowl::bench
