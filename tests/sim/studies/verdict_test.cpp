#include <array>
#include <catch2/catch.hpp>

#include "sim/api/error.hpp"
#include "sim/report/tuning_sheet.hpp"
#include "sim/report/wrap_text.hpp"
#include "sim/studies/altitude_study.hpp"
#include "sim/studies/jets_study.hpp"
#include "sim/studies/judging.hpp"
#include "tests/sim/studies/study_bike.hpp"
#include "tests/support/tolerance.hpp"

namespace glassbowl::sim {
namespace {

SteadyFigures point(double lambda, double filling = 0.95) {
  SteadyFigures f;
  f.state = 0.0;
  f.trapped = f.leanest = f.richest = lambda;
  f.filling = filling;
  f.swing = 0.05;
  f.torque = 50.0;
  f.misfires = 0.0;
  return f;
}

const SteadyGrid two{{0.0}, {0.0}, {from_per_minute(3500.0)}, {0.3, 1.0}};

std::string verdict_of(const SteadyFigures& first, const SteadyFigures& second) {
  return verdict_text(two, judge(two.places(), {first, second}, usual_targets()), "as fitted");
}

/// What a reader of a study sees.
std::string all_text(const StudyResult& result) {
  return result.verdict + result.caution + result.answer + result.table +
         (result.sheet ? tuning_sheet_html(*result.sheet) : "");
}

StudyRequest same_points(const std::string& study) {
  StudyRequest r;
  r.study = study;
  r.speeds = {from_per_minute(3500.0)};
  r.openings = {0.3, 1.0};
  r.altitudes = {0.0, 2700.0};
  return r;
}

}  // namespace

TEST_CASE("verdict: the one reason that applies, by how much and where", "[sim][studies]") {
  const SteadyFigures good = point(0.87);
  SteadyFigures misses = good;
  misses.misfires = 0.5;
  const auto beyond = [](const std::string& text) {
    return Catch::StartsWith("Verdict, as fitted: BEYOND A LIMIT: " + text);
  };
  CHECK_THAT(verdict_of(good, good),
             Catch::StartsWith("Verdict, as fitted: inside the limits at all 2 points examined.") &&
                 Catch::Contains("Least margin to the lean limit: 0.080 (unmeasured sizes can move lambda by "
                                 "0.1 and more)"));
  CHECK_THAT(
      verdict_of(good, point(0.97)),
      beyond("beyond the lean limit for its load by 0.020 at 3500 rpm and 100 % throttle (lambda 0.970 "
             "in the leanest cylinder, limit 0.950)"));
  CHECK_THAT(verdict_of(good, misses), beyond("misfires under load: 50 % of cycles at 3500 rpm and 100 %"));
  CHECK_THAT(verdict_of(point(0.94), good),
             beyond("only 0.010 from the lean limit for its load at 3500 rpm and 30 % throttle, where 0.015 "
                    "is asked for"));
  CHECK_THAT(verdict_of(point(0.70), good),
             beyond("beyond the rich limit (0.72) by 0.020 at 3500 rpm and 30 %"));
  CHECK_THAT(verdict_of(good, SteadyFigures{}),
             Catch::StartsWith("Verdict, as fitted: not known: 1 point could not be computed"));
  // Several at once: the most dangerous is told, and no list of reasons.
  CHECK_THAT(verdict_of(misses, point(0.97)), beyond("beyond the lean limit") && !Catch::Contains("misfire"));
  CHECK_THAT(verdict_of(SteadyFigures{}, point(0.97)),
             beyond("beyond the lean limit") && !Catch::Contains("not known"));
  auto overrun = good;
  overrun.torque = -5.0;
  CHECK_THAT(verdict_of(overrun, overrun), Catch::StartsWith("Verdict, as fitted: not known: at none"));
  // No figure is no knowledge, and no fuel is beyond the limit.
  auto nothing = good;
  nothing.leanest = NAN;
  CHECK_THAT(verdict_of(good, nothing), Catch::StartsWith("Verdict, as fitted: not known"));
  nothing.leanest = INFINITY;
  CHECK_THAT(verdict_of(good, nothing),
             beyond("almost no fuel reaches a cylinder") && !Catch::Contains("inf"));
  nothing.leanest = nothing.trapped = 16256.5;
  CHECK_THAT(verdict_of(good, nothing), beyond("almost no fuel reaches a cylinder") &&
                                            !Catch::Contains("16256") && !Catch::Contains("inf"));
  CHECK(error_text(judge(two.places(), {good, nothing}, usual_targets())) == "mean lambda error not known");
}

TEST_CASE("verdict: what was examined is said, and that it is less than all speeds", "[sim][studies]") {
  CHECK_THAT(verdict_of(point(0.87), point(0.87)),
             Catch::Contains("Examined: at 3500 rpm only; throttle 30 and 100 %; altitude 0 m."));
  SteadyGrid many{{0.0, 2700.0}, {-20.0}, {}, {0.1}};
  for (int i = 0; i < 12; ++i) many.speeds.push_back(from_per_minute(1000.0 + 500.0 * i));
  CHECK(examined_text(many) ==
        "at 1000 to 6500 rpm (12 values); throttle 10 %; altitude 0 and 2700 m; air 20 K colder than the "
        "standard day");
  auto overrun = point(0.87), lugged = point(0.87);
  overrun.torque = -1.0;
  lugged.swing = 0.3;
  CHECK_THAT(verdict_of(point(0.87), overrun),
             Catch::Contains("inside the limits at the 1 point examined") &&
                 Catch::Contains("Of 2 points, 1 not judged (1 without load, 0 at too low a speed"));
  CHECK_THAT(verdict_of(lugged, point(0.87)),
             Catch::Contains("Of 2 points, 1 not judged (0 without load, 1 at too low a speed"));
}

TEST_CASE("verdict: map, altitude, jets, sheet and compare say the same of one bike at the same points",
          "[sim][studies]") {
  PointScheduler scheduler(nullptr, 2);
  // As fitted, richer so that it is inside the limits, and leaner so that it is beyond one.
  for (const char* jet : {"1.67 mm", "1.80 mm", "1.50 mm"}) {
    const ResolvedCase resolved = bike("mule_750", {std::string("carburetor.main.jet.bore=") + jet});
    const std::string map = run_study(resolved, same_points("map"), scheduler).verdict;
    CAPTURE(map);
    CHECK_THAT(map, Catch::Contains("at 3500 rpm only"));
    const StudyResult altitude = run_study(resolved, same_points("altitude"), scheduler);
    CHECK(altitude.verdict == map);
    StudyRequest search = same_points("jets");
    search.tries["main_jet"] = {adjusters_of(resolved).front().fitted};
    const StudyResult jets = run_study(resolved, search, scheduler);
    CHECK(jets.verdict == map);
    StudyRequest beside = same_points("compare");
    beside.beside = resolved.text;
    beside.beside_name = "as fitted";
    const StudyResult compare = run_study(resolved, beside, scheduler);
    CHECK_THAT(compare.verdict, Catch::EndsWith(map));
    // And each warns or none does.
    const bool danger =
        map.find("inside") == std::string::npos && map.find("rich limit") == std::string::npos;
    for (const StudyResult* result : {&altitude, &jets, &compare})
      CHECK((result->caution.find("DO NOT RIDE") != std::string::npos) == danger);
    for (const StudyResult* result : {&altitude, &jets, &compare})
      CHECK_THAT(all_text(*result), !Catch::Contains("safe", Catch::CaseSensitive::No));
    CHECK_THAT(jets.answer,
               Catch::Contains("Target lambda: 0.93 below 15 % throttle, 0.96 from 15 to 60 %, 0.87"));
    CHECK_THAT(jets.table, Catch::Contains("unmeasured sizes can move a margin by 0.1 and more"));
    CHECK_THAT(compare.answer, Catch::Contains("Target lambda"));
  }
  StudyRequest sheet = same_points("sheet");
  const ResolvedCase resolved = bike("mule_750");
  sheet.tries["main_jet"] = {adjusters_of(resolved).front().fitted};
  const StudyResult printed = run_study(resolved, sheet, scheduler);
  const std::string map = run_study(resolved, same_points("map"), scheduler).verdict;
  CHECK(printed.verdict == map);
  const std::string page = tuning_sheet_html(*printed.sheet);
  CHECK(page.find(map.substr(0, map.find('\n'))) < page.find("CAUTION"));
  CHECK_THAT(all_text(printed), !Catch::Contains("safe", Catch::CaseSensitive::No));
}

TEST_CASE("altitude: its one speed is named in the verdict, as others may be dangerous", "[sim][studies]") {
  StudyRequest r = same_points("altitude");
  r.speeds.clear();
  PointScheduler scheduler(nullptr, 2);
  const std::string verdict = run_study(bike("goat_400"), r, scheduler).verdict;
  CHECK_THAT(verdict, Catch::Contains("Examined: at 3500 rpm only"));
}

TEST_CASE("cautions: on the shipped V-twin they forbid what runs leaner, and nothing that runs richer",
          "[sim][studies]") {
  const auto all = adjusters_of(bike("mule_750"));
  const Adjuster& air = find_adjuster(all, "main_air_jet");
  // The words against the physics: one size larger or smaller, computed.
  const ResolvedCase resolved = bike("mule_750");
  PointScheduler scheduler(nullptr, 2);
  const Place place{from_per_minute(4000.0), 0.6, 0.0, 0.0};
  const auto lambda = [&](double value) {
    return run_steady(scheduler,
                      {steady_task(std::make_shared<SharedCase>(resolved.text, air.setting(value)), place)})
        .front()
        .trapped;
  };
  const double larger = air.moved(air.fitted, 1), smaller = air.moved(air.fitted, -1);
  CHECK(lambda(larger) > lambda(air.fitted));
  CHECK(lambda(smaller) < lambda(air.fitted));
  CHECK(air.leaner(larger));
  CHECK_FALSE(air.leaner(smaller));

  CHECK_THAT(leaner_caution, !Catch::Contains("Never go below a fitted size") &&
                                 Catch::Contains("nothing that runs leaner than what is fitted") &&
                                 Catch::Contains("no smaller fuel jet, no larger air jet"));
  const std::string text = leaner_than_fitted_text(all);
  CHECK_THAT(text, Catch::Contains("main jet below 1.67 mm") &&
                       Catch::Contains("main air jet above 1.8 mm") &&
                       Catch::Contains("slow air jet above 1 mm") && Catch::Contains("mixture screw below") &&
                       !Catch::Contains("air jet below") && !Catch::Contains("main jet above"));
  // What a search advises on it, richer by a smaller air jet, is not called leaner.
  CHECK_FALSE(goes_leaner({air}, {smaller}));
  CHECK(goes_leaner({air}, {larger}));
}

TEST_CASE("jets: more compression or a larger bore is led by what is not modelled, knock", "[sim][studies]") {
  const ResolvedCase before = bike("goat_400");
  const auto after = [&](const char* change) { return bike("goat_400", {change}); };
  const double ratio = before.bike.engine.crank.compression_ratio;
  for (const std::string& change :
       {"engine.compression_ratio=" + std::to_string(ratio + 1.0), std::string("engine.bore=90 mm")})
    CHECK_THAT(knock_warning(before, after(change.c_str())), Catch::Contains("KNOCK IS NOT MODELLED") &&
                                                                 Catch::Contains("ignition timing") &&
                                                                 Catch::Contains("fuel octane"));
  CHECK(knock_warning(before, before).empty());
  CHECK(knock_warning(before, after(("engine.compression_ratio=" + std::to_string(ratio - 1.0)).c_str()))
            .empty());
  CHECK(knock_warning(before, after("silencer.area=500 mm2")).empty());

  StudyRequest request;
  request.study = "jets";
  request.speeds = {from_per_minute(4000.0)};
  request.openings = {1.0};
  request.tries["main_jet"] = {adjusters_of(before).front().fitted};
  request.change = {"engine.compression_ratio=" + std::to_string(ratio + 1.0)};
  PointScheduler scheduler(nullptr, 2);
  const StudyResult result = run_study(before, request, scheduler);
  CHECK_THAT(result.caution, Catch::Contains("KNOCK IS NOT MODELLED"));
  CHECK_THAT(result.verdict, Catch::StartsWith("Verdict, changed engine with the old jets: ") &&
                                 Catch::Contains("Verdict, before the change: "));
}

TEST_CASE("studies: the air of the case counts at every altitude, and --warmer replaces it",
          "[sim][studies]") {
  const ResolvedCase cold = bike("goat_400", {"air.temperature=-10 degC", "air.altitude=300 m"});
  const SteadyGrid own = grid_of(cold, {});
  CHECK(own.altitudes == std::vector<double>{300.0});
  const double standard = 288.15 - 0.0065 * 300.0;  // [K] ISO 2533
  CHECK_THAT(own.warmer.front(), tests::near(263.15 - standard, tests::absolute_error(1e-9, "rounding")));
  StudyRequest high;
  high.altitudes = {0.0, 2700.0};
  CHECK(grid_of(cold, high).warmer == own.warmer);
  high.warmer = {-5.0, 5.0};
  CHECK(grid_of(cold, high).warmer == high.warmer);
  CHECK(grid_of(bike("goat_400"), {}).warmer == std::vector<double>{0.0});  // a standard day to the bit

  // A cold day is leaner: each study sees it.
  PointScheduler scheduler(nullptr, 2);
  const auto lambda = [&](const char* study, const char* temperature) {
    StudyRequest r = same_points(study);
    r.altitudes = {0.0, 1000.0};
    const ResolvedCase resolved = bike("goat_400", {std::string("air.temperature=") + temperature});
    r.tries["main_jet"] = {adjusters_of(resolved).front().fitted};
    r.beside = resolved.text;
    return run_study(resolved, r, scheduler).file.variable("lambda_trapped").values.at(0);
  };
  for (const char* study : {"map", "altitude", "jets", "compare"})
    CHECK(lambda(study, "-10 degC") > lambda(study, "15 degC") + 0.01);
}

TEST_CASE("compare: two machines in different air are refused with what would do", "[sim][studies]") {
  StudyRequest r = same_points("compare");
  r.beside = bike("goat_400", {"air.temperature=-10 degC"}).text;
  r.beside_name = "winter";
  PointScheduler scheduler(nullptr, 1);
  CHECK_THROWS_WITH(run_study(bike("goat_400"), r, scheduler), Catch::Contains("air.temperature") &&
                                                                   Catch::Contains("winter -25.0 K") &&
                                                                   Catch::Contains("--set"));
  r.study = "altitude";
  CHECK_THROWS_AS(run_study(bike("goat_400"), r, scheduler), Error);
}

TEST_CASE("text: lines are wrapped at words, and a number keeps its unit", "[sim][report]") {
  const std::string ninety(90, 'a'), longer(120, 'b');
  CHECK(wrapped(ninety + " two three four\nfive") == ninety + " two three\n  four\nfive");
  CHECK(wrapped("  " + ninety + " two three") == "  " + ninety + " two\n    three");
  CHECK(wrapped(ninety + " about 30 % throttle") == ninety + " about\n  30 % throttle");
  CHECK(wrapped(longer) == longer);
  std::string umlauts;
  for (int i = 0; i < 33; ++i) umlauts += "äö ";
  CHECK(wrapped(umlauts + "ä") == umlauts + "ä");
  CHECK(wrapped("ends\n") == "ends\n");
  CHECK(wrapped("").empty());
}

}  // namespace glassbowl::sim
