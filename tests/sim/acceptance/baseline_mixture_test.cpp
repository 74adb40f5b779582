#include <fmt/core.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "models/constants.hpp"
#include "sim/run/run_case.hpp"
#include "tests/sim/acceptance/drive.hpp"
#include "tests/sim/acceptance/figure.hpp"

namespace glassbowl::sim {
namespace {

constexpr double per_minute = 30.0 / models::constants::pi;  // [1/min per rad/s]

struct Point {
  const char* from;  // the shipped runs that pass it
  double opening, speed;
};

}  // namespace

TEST_CASE("core: a warm engine idles by itself for 20 s, evenly and at a sound mixture",
          "[acceptance][mixture]") {
  const std::string run = GENERATE(values<std::string>({"warm_idle", "warm_idle_piston"}));
  const auto resolved = shipped(run);
  REQUIRE(resolved.plan.duration >= 20.0);
  REQUIRE(resolved.bike.load.kind == models::LoadKind::neutral);
  REQUIRE(resolved.bike.load.released < 0.0);
  std::vector<Cycle> cycles;
  Drive drive(resolved);
  drive.to(0.0);
  const long misfires = drive.simulation().misfires();
  const bool lasted = drive.to(20.0, [&](const Cycle& cycle) { cycles.push_back(cycle); });
  REQUIRE(lasted);
  const Means all = mean_of(cycles, drive.stoichiometric());
  const auto [slowest, fastest] = std::minmax_element(
      cycles.begin(), cycles.end(), [](const Cycle& a, const Cycle& b) { return a.speed < b.speed; });
  const std::size_t tenth = cycles.size() / 10;
  const Means first =
      mean_of({cycles.begin(), cycles.begin() + static_cast<long>(tenth)}, drive.stoichiometric());
  const Means last = mean_of({cycles.end() - static_cast<long>(tenth), cycles.end()}, drive.stoichiometric());
  print_figure(run + ": speed, slowest cycle", slowest->speed * per_minute, "1/min", "> 900");
  print_figure(run + ": speed, fastest cycle", fastest->speed * per_minute, "1/min", "< 1200");
  print_figure(run + ": drift of speed over 20 s", (last.speed - first.speed) * per_minute, "1/min",
               "within 20");
  print_figure(run + ": misfired charges", static_cast<double>(drive.simulation().misfires() - misfires), "",
               "0");
  print_figure(run + ": trapped lambda", all.trapped, "", "0.80 to 0.95");
  CHECK(slowest->speed * per_minute > 900.0);
  CHECK(fastest->speed * per_minute < 1200.0);
  CHECK(std::abs(last.speed - first.speed) * per_minute < 20.0);
  CHECK(all.trapped > 0.80);
  CHECK(all.trapped < 0.95);
  CHECK(drive.simulation().misfires() == misfires);
}

TEST_CASE("core: full throttle traps a rich mixture at every speed of the pull", "[acceptance][mixture]") {
  const std::string run = GENERATE(values<std::string>({"full_throttle_pull", "full_throttle_pull_piston"}));
  for (const double speed : {2500.0, 3000.0, 3500.0, 4000.0, 4500.0, 5000.0, 5500.0, 6000.0}) {
    const Means m = steady_point(run, 100.0, speed);
    print_figure(fmt::format("{}: trapped lambda at {:.0f} 1/min", run, speed), m.trapped, "",
                 "0.80 to 0.95");
    CHECK(m.trapped > 0.80);
    CHECK(m.trapped < 0.95);
  }
}

TEST_CASE("core: the mixture stays sound over the steady sweep", "[acceptance][mixture]") {
  const std::string run = GENERATE(values<std::string>({"slow_sweep", "slow_sweep_piston"}));
  const std::vector<double> openings{0,  1,  2,  3,  4,  5,  6,  7,  8,  9,  10, 11, 12, 14,
                                     16, 18, 20, 23, 26, 30, 35, 40, 50, 60, 70, 85, 100};
  const auto sweep = steady_sweep(run, openings, 3000.0);
  double richest = 10.0, leanest = 0.0;
  for (std::size_t i = 0; i < openings.size(); ++i) {
    const Means& m = sweep[i];
    fmt::print("  {:17} {:5.1f} %: trapped lambda {:.3f} ({:.3f} to {:.3f} by cylinder), carburetor {:.3f}\n",
               run, openings[i], m.trapped, m.richest, m.leanest, m.lambda);
    INFO(run << " at " << openings[i] << " %");
    CHECK(m.trapped > 0.85);
    CHECK(m.trapped < 1.10);
    richest = std::min(richest, m.trapped);
    leanest = std::max(leanest, m.trapped);
  }
  print_figure(run + ": richest steady point", richest, "", "> 0.85");
  print_figure(run + ": leanest steady point", leanest, "", "< 1.10");
}

TEST_CASE("core: no steady point of a shipped run lies outside 0.78 to 1.15", "[acceptance][mixture]") {
  const std::string suffix = GENERATE(values<std::string>({"", "_piston"}));
  const std::vector<Point> points{{"tip_in", 6, 2500},
                                  {"tip_in", 50, 2500},
                                  {"climb", 60, 3500},
                                  {"starvation", 15, 4000},
                                  {"starvation", 100, 4000}};
  for (const Point& point : points) {
    const std::string run = point.from + suffix;
    const Means m = steady_point(run, point.opening, point.speed,
                                 {"rider.tap=100 %", "supply.tap_bore=5 mm", "air.altitude=0 m"});
    print_figure(fmt::format("{}: richest cylinder at {} %, {} 1/min", run, point.opening, point.speed),
                 m.richest, "", "> 0.78");
    print_figure(fmt::format("{}: leanest cylinder at {} %, {} 1/min", run, point.opening, point.speed),
                 m.leanest, "", "< 1.15");
    CHECK(m.richest > 0.78);
    CHECK(m.leanest < 1.15);
  }
}

}  // namespace glassbowl::sim
