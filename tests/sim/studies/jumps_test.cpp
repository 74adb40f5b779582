#include "sim/studies/jumps.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>
#include <memory>

#include "sim/studies/judging.hpp"
#include "sim/studies/point_marks.hpp"
#include "tests/sim/studies/study_bike.hpp"

namespace glassbowl::sim {
namespace {

using Catch::Matchers::Contains;

/// A point under load, inside all limits.
SteadyFigures point(double lambda) {
  SteadyFigures f;
  f.state = 0.0;
  f.trapped = f.leanest = f.richest = lambda;
  f.misfires = 0.0;
  f.torque = 30.0;
  f.filling = 0.5;
  f.swing = 0.05;
  return f;
}

SteadyGrid line_of(const std::vector<double>& openings) {
  return {{0.0}, {0.0}, {from_per_minute(2000.0)}, openings};
}

std::vector<SteadyFigures> points(const std::vector<double>& lambdas) {
  std::vector<SteadyFigures> out;
  for (const double l : lambdas) out.push_back(point(l));
  return out;
}

}  // namespace

TEST_CASE("jumps: a step beyond the slopes on either side is suspected, a slope or a bend is not",
          "[sim][studies]") {
  const SteadyGrid grid = line_of({0.05, 0.10, 0.15, 0.20, 0.25, 0.30});
  const auto jump = steps_of(grid, points({1.00, 1.03, 1.06, 0.78, 0.80, 0.82}));
  REQUIRE(jump.size() == 1);
  CHECK(jump.front().first == 2);
  CHECK(jump.front().second == 3);
  CHECK(std::abs(jump.front().size - 0.28) < 0.03);
  CHECK(steps_of(grid, points({1.10, 1.05, 1.00, 0.95, 0.90, 0.85})).empty());
  CHECK(steps_of(grid, points({1.00, 0.96, 0.93, 0.91, 0.90, 0.895})).empty());
  // Less than two points may be off by.
  CHECK(steps_of(grid, points({0.90, 0.90, 0.90, 0.925, 0.925, 0.925})).empty());
}

TEST_CASE("jumps: along speed they are suspected as well, the largest first", "[sim][studies]") {
  SteadyGrid grid{{0.0}, {0.0}, {}, {1.0}};
  for (const double rpm : {3000.0, 3500.0, 4000.0, 4500.0, 5000.0, 5500.0})
    grid.speeds.push_back(from_per_minute(rpm));
  const auto steps = steps_of(grid, points({0.86, 0.87, 0.87, 0.80, 0.80, 0.60}));
  REQUIRE(steps.size() == 2);
  CHECK(steps.front().first == 4);
  CHECK(steps.back().first == 2);
}

TEST_CASE("jumps: points without load, without fuel or not computed make none", "[sim][studies]") {
  const SteadyGrid grid = line_of({0.05, 0.10, 0.15, 0.20});
  auto figures = points({1.00, 1.00, 0.70, 0.70});
  figures[1].torque = -5.0;
  CHECK(steps_of(grid, figures).empty());
  figures = points({1.00, 1.00, 1e9, 0.70});
  CHECK(steps_of(grid, figures).empty());
  figures = points({1.00, 1.00, 0.70, 0.70});
  figures[2] = SteadyFigures{};
  CHECK(steps_of(grid, figures).empty());
}

TEST_CASE("jumps: a point with two cycles is marked, and judged by the leaner one", "[sim][studies]") {
  const SteadyGrid grid = line_of({0.10, 0.20});
  auto figures = points({0.80, 0.78});
  const Judgement one = judge(grid.places(), figures, usual_targets());
  REQUIRE(one.no_danger());
  figures[0].jump = figures[1].jump = 1.0;
  figures[1].other = figures[1].other_leanest = 1.20;
  figures[1].other_torque = 22.0;
  CHECK(signs_of(figures[0]) == "/");
  CHECK(signs_of(figures[1]) == "!/2");
  CHECK(leanest_of(figures[1]) == 1.20);
  const Judgement two = judge(grid.places(), figures, usual_targets());
  CHECK(two.finding() == Finding::beyond_lean);
  CHECK(two.lean_at == 1);
  CHECK(two.leanest == 1.20);
  CHECK(two.lean_margin < one.lean_margin);
}

TEST_CASE("jumps: both values are said, with the range and what to do", "[sim][studies]") {
  const SteadyGrid grid = line_of({0.10, 0.20});
  auto figures = points({1.07, 0.76});
  figures[0].jump = figures[1].jump = 1.0;
  Jumps jumps;
  CHECK(jumps_text(grid, figures, jumps).empty());
  Place from = grid.place(0), to = grid.place(1);
  from.opening = 0.14;
  to.opening = 0.17;
  jumps.all.push_back({{0, 1, 0.31}, from, to, figures[0], figures[1]});
  std::string text = jumps_text(grid, figures, jumps);
  CHECK_THAT(text, Contains("FLAT SPOT likely from 14 to 17 % throttle at 2000 rpm: lambda 1.070 or 0.760"));
  CHECK_THAT(text, !Contains("Two settled cycles"));
  CHECK_THAT(text, Contains("Ride through such a range slowly once"));
  figures[1].other = 1.05;
  figures[1].other_torque = 25.0;
  text = jumps_text(grid, figures, jumps);
  CHECK_THAT(text, Contains("Two settled cycles at 2000 rpm and 20 % throttle: lambda 0.760 or 1.050, torque "
                            "30.0 or 25.0 N m"));
  jumps.not_examined = 1;
  CHECK_THAT(jumps_text(grid, figures, jumps), Contains("Not examined for jumps: 1 step of the map"));
}

TEST_CASE("jumps: on the bike with a vacuum piston both cycles repeat when started there", "[sim][studies]") {
  const ResolvedCase resolved = bike("courier_650");
  SteadyGrid grid{{0.0}, {0.0}, {}, {1.0}};
  for (double rpm = 3850.0; rpm < 3960.0; rpm += 20.0) grid.speeds.push_back(from_per_minute(rpm));
  const PointAccuracy accuracy;
  std::vector<SteadyFigures> by_threads[2];
  for (const unsigned threads : {1u, 3u}) {
    PointScheduler scheduler(nullptr, threads);
    auto& figures = by_threads[threads == 1 ? 0 : 1];
    figures = run_steady(scheduler, map_tasks(resolved.text, {}, grid.places(), accuracy));
    const Jumps jumps = mark_jumps(scheduler, resolved.text, {}, grid, accuracy, figures);
    CHECK(!jumps_text(grid, figures, jumps).empty());
    CHECK(scheduler.computed() <= grid.size() + 12);
  }
  const auto& figures = by_threads[0];
  int jumps = 0, two = 0;
  const auto base = std::make_shared<const SharedCase>(resolved.text, Sets{});
  PointScheduler scheduler(nullptr, 2);
  for (std::size_t i = 0; i < grid.size(); ++i) {
    CHECK(std::memcmp(to_values(figures[i]).data(), to_values(by_threads[1][i]).data(),
                      to_values(figures[i]).size() * sizeof(double)) == 0);
    if (figures[i].jump > 0.0) ++jumps;
    if (!two_valued(figures[i])) continue;
    ++two;
    // From its own cycle it stays, and from the neighbour's it is the other one again.
    const std::size_t neighbour = i > 0 && figures[i - 1].jump > 0.0 ? i - 1 : i + 1;
    const auto again =
        run_steady(scheduler, {steady_task_from(base, grid.place(i), grid.place(i), accuracy),
                               steady_task_from(base, grid.place(neighbour), grid.place(i), accuracy)});
    INFO(place_text(grid, i) << " " << figures[i].trapped << " or " << figures[i].other);
    CHECK(std::abs(again[0].trapped - figures[i].trapped) < 0.2 * least_step);
    CHECK(std::abs(again[1].trapped - figures[i].other) < 0.2 * least_step);
  }
  CHECK(jumps >= 2);
  CHECK(two >= 1);
}

TEST_CASE("jumps: where the mixture changes gradually nothing is marked", "[sim][studies]") {
  const ResolvedCase resolved = bike("mule_750");
  const SteadyGrid grid{{0.0}, {0.0}, {from_per_minute(3000.0)}, {0.4, 0.5, 0.6, 0.7, 0.85, 1.0}};
  PointScheduler scheduler(nullptr, 2);
  auto figures = run_steady(scheduler, map_tasks(resolved.text, {}, grid.places(), {}));
  const Jumps jumps = mark_jumps(scheduler, resolved.text, {}, grid, {}, figures);
  CHECK(jumps.all.empty());
  CHECK(jumps_text(grid, figures, jumps).empty());
  for (const auto& f : figures) {
    CHECK(f.jump == 0.0);
    CHECK(!two_valued(f));
  }
}

}  // namespace glassbowl::sim
