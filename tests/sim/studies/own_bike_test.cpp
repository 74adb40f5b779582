#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>

#include "sim/api/error.hpp"
#include "sim/studies/idle_setting.hpp"
#include "sim/studies/judging.hpp"
#include "sim/studies/measuring.hpp"
#include "tests/sim/cases/message_of.hpp"

namespace glassbowl::sim {
namespace {

constexpr double rpm = m::constants::pi / 30.0;
const std::vector<std::string> ride{"load.kind=held_speed", "load.speed=3000 rpm", "run.duration=1 s"};

/// What a workshop knows of a machine: fifteen sizes, and with a vacuum piston the needle in place of the
/// venturi.
ResolvedCase from_fifteen_sizes(const ResolvedCase& whole) {
  constexpr std::array known{"engine.bore",
                             "engine.stroke",
                             "engine.compression_ratio",
                             "engine.firing",
                             "engine.intake.diameter",
                             "engine.intake.lift",
                             "engine.exhaust.diameter",
                             "engine.exhaust.lift",
                             "engine.intake.opens_before_top",
                             "engine.intake.closes_after_bottom",
                             "engine.exhaust.opens_before_bottom",
                             "engine.exhaust.closes_after_top",
                             "engine.combustion.advance",
                             "carburetor.kind",
                             "carburetor.throttle.bore",
                             "carburetor.venturi.diameter",
                             "carburetor.main.jet.bore",
                             "carburetor.main.air_jet.bore",
                             "carburetor.slow.jet.bore",
                             "float.level",
                             "carburetor.pump.stroke"};
  constexpr std::array of_piston{"carburetor.needle.jet_diameter", "carburetor.needle.diameter"};
  const bool lifts = whole.bike.carburetor.kind == CarburetorKind::constant_depression;
  std::vector<std::string> sets = ride;
  sets.emplace_back("estimate=true");
  for (const Origin& origin : whole.origins) {
    const bool given =
        std::find(known.begin(), known.end(), origin.path) != known.end() ||
        (lifts && std::find(of_piston.begin(), of_piston.end(), origin.path) != of_piston.end());
    if (given && origin.kind != Origin::Kind::fallback) sets.push_back(origin.path + "=" + origin.value);
  }
  return read_case_text("", "fifteen sizes", sets);
}

std::vector<SteadyFigures> wide_open(const ResolvedCase& resolved, PointScheduler& scheduler,
                                     const std::vector<double>& speeds) {
  const auto base = std::make_shared<const SharedCase>(resolved.text, Sets{});
  std::vector<PointTask> tasks;
  for (const double speed : speeds) tasks.push_back(steady_task(base, {speed * rpm, 1.0, 0.0, 0.0}));
  return run_steady(scheduler, tasks);
}

}  // namespace

TEST_CASE(
    "estimates: left out of a shipped bike, they give its volumetric efficiency and its full-throttle "
    "lambda within their range",
    "[sim][studies]") {
  PointScheduler scheduler(nullptr, 0);
  for (const char* name : {"mule_750", "goat_400", "courier_650"}) {
    const ResolvedCase whole = read_case(shipped_cases() / "bikes" / (std::string(name) + ".toml"), ride);
    const ResolvedCase estimated = from_fifteen_sizes(whole);
    const std::vector<double> speeds{3000, 4500, 6000};
    const auto real = wide_open(whole, scheduler, speeds), ours = wide_open(estimated, scheduler, speeds);
    const WhatToMeasure range = find_what_to_measure(estimated, scheduler);
    for (std::size_t i = 0; i < speeds.size(); ++i) {
      INFO(fmt::format(
          "{} at {} rpm: volumetric efficiency {:.3f}, estimated {:.3f}; lambda {:.3f}, estimated "
          "{:.3f} +- {:.3f}",
          name, speeds[i], real[i].filling, ours[i].filling, real[i].trapped, ours[i].trapped,
          range.range.back()));
      CHECK(std::abs(ours[i].filling - real[i].filling) < 0.05);
      CHECK(std::abs(ours[i].trapped - real[i].trapped) < range.range.back());
    }
  }
}

TEST_CASE(
    "targets: the idle stop found gives no brake torque at the idle speed, with the same bits at any "
    "thread count",
    "[sim][studies]") {
  const auto read = [](const FoundValues& found) {
    return read_case_text("base = \"bikes/mule_750.toml\"\nidle_speed = \"1000 rpm\"\n", "mule", ride, found);
  };
  PointScheduler one(nullptr, 1), two(nullptr, 2);
  const ResolvedCase a = with_targets_found(read, one), b = with_targets_found(read, two);
  CHECK(a.text == b.text);
  CHECK_FALSE(a.open.any());
  CHECK_THAT(a.text, Catch::Contains("found for idle_speed = 1000 rpm"));
  const auto base = std::make_shared<const SharedCase>(a.text, Sets{});
  const auto idle = run_steady(two, {steady_task(base, {1000.0 * rpm, 0.0, 0.0, 0.0})}).front();
  CHECK(std::abs(idle.torque) < 0.01 * (idle.indicated - idle.torque));
  // Kept in the resolved case: read again it is a size like others.
  const ResolvedCase again = read_case_text(a.text, "again");
  CHECK_FALSE(again.open.any());
  CHECK(again.bike.carburetor.idle_stop == a.bike.carburetor.idle_stop);
}

TEST_CASE("targets: best idle is where turning the screw either way loses torque", "[sim][studies]") {
  const auto read = [](const FoundValues& found) {
    return read_case_text("base = \"bikes/mule_750.toml\"\nbest_idle = true\n", "mule", ride, found);
  };
  PointScheduler scheduler(nullptr, 0);
  const ResolvedCase best = with_targets_found(read, scheduler);
  const double turns = best.bike.carburetor.screw.turns;
  std::vector<PointTask> tasks;
  for (const double t : {turns - 1.2, turns, turns + 1.2})
    tasks.push_back(steady_task(
        std::make_shared<const SharedCase>(best.text, Sets{fmt::format("carburetor.screw.turns={}", t)}),
        {1100.0 * rpm, 0.0, 0.0, 0.0}));
  const auto figures = run_steady(scheduler, tasks);
  INFO(turns);
  CHECK(figures[1].torque > figures[0].torque);
  CHECK(figures[1].torque > figures[2].torque);
}

}  // namespace glassbowl::sim
