#include <catch2/catch.hpp>

#include "sim/api/error.hpp"
#include "sim/studies/adjuster.hpp"
#include "sim/studies/jets_study.hpp"
#include "sim/studies/judging.hpp"
#include "sim/studies/overlap_study.hpp"
#include "tests/sim/studies/study_bike.hpp"
#include "tests/support/tolerance.hpp"

namespace glassbowl::sim {
namespace {

using tests::near;
using tests::round_off;

SteadyFigures point(double lambda, double filling, double torque) {
  SteadyFigures f;
  f.state = 0.0;
  f.trapped = f.leanest = f.richest = lambda;
  f.filling = filling;
  f.swing = 0.05;
  f.torque = torque;
  f.misfires = 0.0;
  return f;
}

}  // namespace

TEST_CASE("lean limit: the fuller the cylinder, the richer it must run", "[sim][studies]") {
  CHECK_THAT(lean_limit_under_load(1.0), near(0.95, round_off(4)));
  CHECK_THAT(lean_limit_under_load(0.75), near(0.95, round_off(4)));
  CHECK_THAT(lean_limit_under_load(0.55), near(1.075, round_off(4)));
  CHECK_THAT(lean_limit_under_load(0.2), near(1.2, round_off(4)));
}

TEST_CASE("judgement: lean under load, misfires and unknown points are dangers, the overrun is not judged",
          "[sim][studies]") {
  const SteadyGrid grid{{0.0}, {0.0}, {from_per_minute(3000.0)}, {0.0, 1.0}};
  const auto targets = usual_targets();
  const auto good = point(0.87, 0.95, 50.0);
  CHECK(judge(grid.places(), {point(1.3, 0.3, -5.0), good}, targets).no_danger());
  const Judgement lean = judge(grid.places(), {good, point(0.97, 0.95, 50.0)}, targets);
  CHECK_FALSE(lean.no_danger());
  CHECK_THAT(lean.lean_margin, near(-0.02, tests::absolute_error(1e-12, "rounding")));
  CHECK(lean.lean_at == 1);
  CHECK_FALSE(judge(grid.places(), {good, point(0.94, 0.95, 50.0)}, targets)
                  .no_danger());  // nearer than the rounding of the search
  auto missing = good;
  missing.misfires = 0.5;
  CHECK_FALSE(judge(grid.places(), {good, missing}, targets).no_danger());
  CHECK_FALSE(judge(grid.places(), {good, SteadyFigures{}}, targets).no_danger());
  // What no engine can be held at does not count, however lean, rich or missing; it is told of.
  auto lugged = point(1.3, 0.95, 50.0);
  lugged.swing = 0.3;
  lugged.misfires = 0.5;
  const Judgement lug = judge(grid.places(), {lugged, good}, targets);
  CHECK(lug.no_danger());
  CHECK(lug.lugging == 1);
  CHECK_THAT(lug.error, near(0.0, tests::absolute_error(1e-12, "rounding")));
  CHECK_THAT(lugging_text(lug), Catch::Contains("0.35 beyond the lean limit"));
  CHECK(lugging_text(judge(grid.places(), {good, good}, targets)).empty());
  // Both at full throttle's target: no error; one 10 % off: root mean square of 0 and 0.1.
  const SteadyGrid two{{0.0}, {0.0}, {from_per_minute(3000.0), from_per_minute(4000.0)}, {1.0}};
  CHECK_THAT(judge(two.places(), {good, point(0.87 * 0.9, 0.95, 50.0)}, targets).error,
             near(0.1 / std::sqrt(2.0), round_off(20)));
}

TEST_CASE("swing: a flywheel's speed between firings, by its exact energy balance for small swings",
          "[sim][studies]") {
  // An independent way: crank energy before and after one firing's work is taken out of it.
  const ResolvedCase resolved = bike("mule_750");
  const double speed = from_per_minute(3000.0), air = 0.0187;  // [kg/s]
  const double charge = air / 2.0 / (3000.0 / 120.0);          // two cylinders, every second turn
  const double work =
      charge / resolved.bike.fuel.stoichiometric_ratio * resolved.bike.fuel.heating_value / 3.0;
  const double inertia = resolved.bike.engine.inertia;
  const double after = std::sqrt(speed * speed - 2.0 * work / inertia);
  const double swing = swing_of(resolved.bike, air, speed);
  CHECK_THAT((speed - after) / speed,
             near(swing + 0.5 * swing * swing,
                  tests::absolute_error(std::pow(swing, 3), "rest of the series of 1 - sqrt(1 - 2 C)")));
}

TEST_CASE("adjusters: steps follow the list, an odd bore counts as the nearest size", "[sim][studies]") {
  const auto all = adjusters_of(bike("mule_750"));
  const Adjuster& main = find_adjuster(all, "main_jet");
  CHECK_THAT(main.moved(1.675e-3, 1), near(1.7e-3, round_off(8)));
  CHECK_THAT(main.moved(1.67e-3, 1), near(1.7e-3, round_off(8)));
  CHECK_THAT(main.moved(1.67e-3, -2), near(1.625e-3, round_off(8)));
  CHECK(main.moved(1.67e-3, 0) == 1.67e-3);
  CHECK_THAT(main.moved(2.8e-3, 3), near(2.8e-3, round_off(8)));
  CHECK(main.setting(main.fitted).empty());
  const auto& screw = find_adjuster(all, "screw");
  CHECK_THAT(screw.moved(2.0, 2), near(2.5, round_off(8)));
  CHECK_THROWS_WITH(find_adjuster(all, "needle_raised"), Catch::Contains("main_jet"));
  CHECK_NOTHROW(find_adjuster(adjusters_of(bike("courier_650")), "needle_raised"));
}

TEST_CASE("adjusters: every setting is one that the case accepts and takes over", "[sim][studies]") {
  for (const auto* name : {"mule_750", "courier_650", "goat_400"}) {
    const ResolvedCase resolved = bike(name);
    const auto all = adjusters_of(resolved);
    for (std::size_t k = 0; k < all.size(); ++k) {
      const double value = all[k].moved(all[k].fitted, 1);
      INFO(name << ", " << all[k].name << " to " << all[k].text(value));
      REQUIRE(value != all[k].fitted);
      const auto changed = adjusters_of(read_case_text(resolved.text, name, all[k].setting(value)));
      CHECK_THAT(changed[k].fitted, near(value, round_off(8)));
    }
  }
}

TEST_CASE("advice: the words say which way each change goes", "[sim][studies]") {
  const auto all = adjusters_of(bike("mule_750"));
  const std::vector<Adjuster> two{find_adjuster(all, "main_jet"), find_adjuster(all, "main_air_jet")};
  CHECK(change_text(two, {two[0].fitted, two[1].fitted}) == "as fitted");
  CHECK_FALSE(goes_leaner(two, {two[0].moved(two[0].fitted, 1), two[1].moved(two[1].fitted, -1)}));
  CHECK(goes_leaner(two, {two[0].moved(two[0].fitted, -1), two[1].fitted}));
  CHECK(goes_leaner(two, {two[0].fitted, two[1].moved(two[1].fitted, 1)}));
  CHECK_THAT(change_text(two, {two[0].moved(two[0].fitted, -1), two[1].moved(two[1].fitted, -1)}),
             Catch::Contains("main jet 1.67 mm to 1.65 mm (leaner)") && Catch::Contains("(richer)"));
}

TEST_CASE(
    "advice: a gain smaller than the rounding of the search changes nothing, a setting beyond a limit is "
    "left",
    "[sim][studies]") {
  SearchOutcome out;
  out.fitted.verdict.error = 0.05;
  out.fitted.verdict.judged = 1;
  CHECK(&advised(out) == &out.fitted);
  out.best.resize(1);
  out.best[0].verdict.error = 0.04;
  CHECK(&advised(out) == &out.fitted);
  out.fitted.verdict.misfiring = 1;
  CHECK(&advised(out) == &out.best[0]);
  out.fitted.verdict.misfiring = 0;
  out.best[0].verdict.error = 0.03;
  CHECK(&advised(out) == &out.best[0]);
}

TEST_CASE("overlap: ranges and hand-over points of straight lines are exact", "[sim][studies]") {
  // The slow side falls from 1 to 0 over the travel, the main side rises: they meet at a half, each gives a
  // tenth at 0.9 and 0.1.
  const std::vector<double> openings{0.0, 0.25, 0.5, 0.75, 1.0}, slow{1.0, 0.75, 0.5, 0.25, 0.0},
      main{0.0, 0.25, 0.5, 0.75, 1.0};
  const auto ranges = find_overlaps(openings, slow, main, "slow", "main");
  REQUIRE(ranges.size() == 1);
  CHECK_THAT(ranges[0].from, near(0.1, round_off(20)));
  CHECK_THAT(ranges[0].to, near(0.9, round_off(20)));
  const auto over = find_hand_overs(openings, {slow, main}, {"slow", "main"});
  REQUIRE(over.size() == 1);
  CHECK(over[0].to == "main");
  CHECK_THAT(over[0].at, near(0.5, round_off(20)));
  CHECK(find_overlaps(openings, {1, 1, 1, 1, 1}, {0, 0, 0, 0, 0}, "a", "b").empty());
}

TEST_CASE("request: what a study was asked survives its file", "[sim][studies]") {
  StudyRequest r;
  r.study = "jets";
  r.speeds = {100.0 / 3.0};
  r.altitudes = {0.0, 2700.0};
  r.tries["main_jet"] = {1.65e-3, 0.1};
  r.targets["full"] = 0.87;
  r.change = {"engine.compression_ratio=9"};
  r.variants = {{"no pump", {"carburetor.pump.fitted=false"}}};
  r.beside = "x = \"ä\"\n";
  const StudyRequest back = request_from_json(request_json(r));
  CHECK(request_json(back) == request_json(r));
  CHECK(back.speeds == r.speeds);
  CHECK(back.tries == r.tries);
  CHECK(back.variants.front().sets == r.variants.front().sets);
  CHECK_THROWS_AS(request_from_json("{}"), Error);
}

}  // namespace glassbowl::sim
