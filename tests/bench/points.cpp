#include "tests/bench/points.hpp"

#include <fmt/format.h>

#include <utility>

#include "sim/cases/find_case.hpp"
#include "tests/support/between_burns.hpp"

namespace glassbowl::bench {

using namespace sim;

namespace {

constexpr double settled = 3.0;  // [s]

std::vector<Point> settled_points(const char* run) {
  std::vector<std::unique_ptr<Simulation>> all;
  for (std::size_t k = 0; k < points_a_bike; ++k) {
    const auto resolved =
        held(run, 5.0 + 6.0 * static_cast<double>(k), 1500.0 + 1500.0 * static_cast<double>(k % 4));
    all.push_back(std::make_unique<Simulation>(resolved.bike, resolved.plan.step));
  }
  advance_together(all, settled, [] { return make_lane_group(); });
  std::vector<Point> out;
  for (auto& one : all) {
    tests::pass_burns(*one);
    out.push_back({one->network().bike(), one->step_options(), std::as_const(*one).state(), one->time()});
  }
  return out;
}

}  // namespace

ResolvedCase held(const char* run, double opening, double speed, const std::vector<std::string>& more) {
  std::vector<std::string> sets{"load.kind=held_speed", "rider.choke=0 %", "rider.starter=0 %",
                                fmt::format("rider.throttle={:.17g} %", opening),
                                fmt::format("load.speed={:.17g} rpm", speed)};
  sets.insert(sets.end(), more.begin(), more.end());
  return read_case(find_case(run), sets);
}

Simulation Point::start(const StepOptions& options) const {
  Simulation out(bike, options);
  out.state() = state;
  out.set_time(time);
  return out;
}

const std::vector<Point>& points() {
  static const auto all = [] {
    std::vector<Point> out;
    for (const char* run : runs)
      for (auto& point : settled_points(run)) out.push_back(std::move(point));
    return out;
  }();
  return all;
}

void alone(const Point& point, const StepOptions& options,
           const std::function<void(const Cycle&)>& on_cycle) {
  point.start(options).advance(point.time + marched, on_cycle);
}

void all_alone() {
  for (const auto& point : points()) alone(point, point.step);
}

StepOptions single(const Point& point) {
  StepOptions out = point.step;
  out.single_rates = true;
  return out;
}

void all_side_by_side(const MakeGroup& make) {
  const bool in_single = make()->single_rates();
  for (auto at = points().begin(); at != points().end(); at += points_a_bike) {
    std::vector<std::unique_ptr<Simulation>> all;
    for (std::size_t k = 0; k < points_a_bike; ++k)
      all.push_back(std::make_unique<Simulation>(
          at[static_cast<std::ptrdiff_t>(k)].start(in_single ? single(*at) : at->step)));
    advance_together(all, marched, make);
  }
}

void advance_together(const std::vector<std::unique_ptr<Simulation>>& all, double span,
                      const MakeGroup& make) {
  const auto group = make();
  std::size_t next = 0;
  const auto fill = [&](std::size_t lane) {
    if (next == all.size()) return;
    Simulation& one = *all[next++];
    group->put(lane, {&one, one.time() + span, nullptr});
  };
  for (std::size_t lane = 0; lane < group->size(); ++lane) fill(lane);
  for (auto arrived = group->advance(); !arrived.empty(); arrived = group->advance())
    for (const auto& a : arrived) {
      if (a.failure) std::rethrow_exception(a.failure);
      fill(a.lane);
    }
}

}  // namespace glassbowl::bench
