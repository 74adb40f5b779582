#include <fmt/format.h>

#include <algorithm>
#include <bit>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <nlohmann/json.hpp>

#include "sim/studies/jet_search.hpp"
#include "sim/studies/study_json.hpp"
#include "sim/studies/uncertain_points.hpp"
#include "sim/studies/uncertain_text.hpp"
#include "tests/sim/studies/study_bike.hpp"

using namespace glassbowl::sim;
using Catch::Matchers::Contains;
using Catch::Matchers::WithinAbs;

namespace {

constexpr double rpm = 0.10471975511965977;

std::vector<Place> places_of(std::initializer_list<std::pair<double, double>> at) {
  std::vector<Place> out;
  for (const auto& [speed, opening] : at) out.push_back({speed * rpm, opening, 0.0, 0.0});
  return out;
}

std::vector<SteadyFigures> as_given(const ResolvedCase& resolved, const std::vector<Place>& places,
                                    PointScheduler& scheduler) {
  return run_steady(scheduler, map_tasks(resolved.text, {}, places, {}));
}

double share_of(const UncertainPoints& points, const std::string& key) {
  for (const auto& c : points.contributions())
    if (c.key == key) return c.share_lambda;
  return NAN;
}

}  // namespace

TEST_CASE("uncertain: drawn bikes follow from the seed alone and lie side by side", "[sim][studies]") {
  const ResolvedCase resolved = bike("mule_750");
  const DrawnBikes a(resolved, 8), b(resolved, 8), other(resolved, 8, 2);
  REQUIRE(a.size() + static_cast<std::size_t>(a.refused()) == 8);
  for (std::size_t i = 0; i < a.size(); ++i) CHECK(a.bike(i)->sets() == b.bike(i)->sets());
  CHECK(a.bike(0)->sets() != other.bike(0)->sets());
  const auto places = places_of({{3000, 0.3}});
  PointScheduler one(nullptr, 1), three(nullptr, 3);
  const auto by_one = one.run(a.tasks(places, {})), by_three = three.run(a.tasks(places, {}));
  REQUIRE(by_one.size() == by_three.size());
  for (std::size_t i = 0; i < by_one.size(); ++i)  // bytes, as what is not known is not a number
    CHECK(std::equal(by_one[i].begin(), by_one[i].end(), by_three[i].begin(), by_three[i].end(),
                     [](double x, double y) {
                       return std::bit_cast<std::uint64_t>(x) == std::bit_cast<std::uint64_t>(y);
                     }));
}

TEST_CASE("uncertain: where one size dominates, it gets its share, and ranges are those of first order",
          "[sim][studies]") {
  // Two sizes alone are uncertain; their derivatives are found apart from the drawn bikes.
  ResolvedCase resolved =
      bike("mule_750", {"carburetor.main.jet.bore=1.6 mm ± 3 %", "float.level=-4 mm ± 1 mm"});
  for (Origin& o : resolved.origins)
    if (o.path != "carburetor.main.jet.bore" && o.path != "float.level") o.spread = {};
  const auto places = places_of({{3000, 1.0}, {4500, 0.5}});
  PointScheduler scheduler(nullptr, 0);
  const auto given = as_given(resolved, places, scheduler);
  const UncertainPoints points(resolved, places, given, 40, {}, scheduler);
  REQUIRE(points.sizes() == 2);
  REQUIRE(points.bikes() == 40);
  const auto values = uncertain_values(resolved);
  double of_jet = 0.0, in_all = 0.0;
  for (std::size_t j = 0; j < places.size(); ++j) {
    double variance = 0.0;
    for (const auto& value : values) {
      const auto moved = run_steady(scheduler, map_tasks(resolved.text, {value.drawn(1.0)}, {places[j]}, {})),
                 back = run_steady(scheduler, map_tasks(resolved.text, {value.drawn(-1.0)}, {places[j]}, {}));
      const double slope = 0.5 * std::log(moved.front().trapped / back.front().trapped);
      variance += slope * slope;
      if (value.path() == "carburetor.main.jet.bore") of_jet += slope * slope;
    }
    in_all += variance;
    const Range95 range = points.lambda_range(j);
    const double first_order = 1.96 * std::sqrt(variance) * given[j].trapped;
    CAPTURE(j, given[j].trapped, range.low, range.high, first_order);
    // An empirical range of 40 values scatters by about a tenth.
    CHECK_THAT(0.5 * (range.high - range.low) / first_order, WithinAbs(1.1, 0.2));
    CHECK(range.low < given[j].trapped);
    CHECK(range.high > given[j].trapped);
  }
  CHECK_THAT(share_of(points, "carburetor.main.jet.bore"), WithinAbs(of_jet / in_all, 0.03));
  CHECK(points.explained() > 0.95);
}

TEST_CASE("uncertain: limits that are given make the range, and exact sizes have none", "[sim][studies]") {
  ResolvedCase wide = bike("mule_750", {"inlet.filter_area=700 mm2 ± 300 mm2"}),
               narrow = bike("mule_750", {"inlet.filter_area=700 mm2 ± 30 mm2"});
  for (auto* one : {&wide, &narrow})
    for (Origin& o : one->origins)
      if (o.path != "inlet.filter_area") o.spread = {};
  const auto places = places_of({{4500, 1.0}});
  PointScheduler scheduler(nullptr, 0);
  const auto width = [&](const ResolvedCase& resolved) {
    const Range95 r =
        UncertainPoints(resolved, places, as_given(resolved, places, scheduler), 12, {}, scheduler)
            .lambda_range(0);
    return r.high - r.low;
  };
  const double w = width(wide), n = width(narrow);
  CAPTURE(w, n);
  CHECK(w > 4.0 * n);
  ResolvedCase exact = wide;
  for (Origin& o : exact.origins) o.spread = {};
  const UncertainPoints none(exact, places, as_given(exact, places, scheduler), 12, {}, scheduler);
  CHECK(none.bikes() == 0);
  CHECK(std::isnan(none.lambda_range(0).low));
  Judgement j;
  none.add_odds(j, places, as_given(exact, places, scheduler), usual_targets(), 0.02);
  CHECK_FALSE(j.odds.known());
}

TEST_CASE("uncertain: the probability of being beyond the lean limit counts bikes that are",
          "[sim][studies]") {
  const ResolvedCase resolved = bike("mule_750");
  const auto places = places_of({{2500, 0.3}, {4000, 1.0}, {5000, 0.55}});
  PointScheduler scheduler(nullptr, 0);
  const auto given = as_given(resolved, places, scheduler);
  const UncertainPoints points(resolved, places, given, 64, {}, scheduler);
  Judgement found = judge(places, given, usual_targets());
  points.add_odds(found, places, given, usual_targets(), 0.02);
  REQUIRE(found.odds.known());
  double beyond = 0.0;
  for (const auto& figures : points.figures())
    if (judge(places, figures, usual_targets()).lean_margin < 0.0) beyond += 1.0;
  const double counted = beyond / static_cast<double>(points.bikes());
  CAPTURE(counted, found.odds.probability);
  // Two standard errors of a share of 64.
  CHECK_THAT(found.odds.probability,
             WithinAbs(counted, 0.02 + 2.0 * std::sqrt(std::max(counted * (1.0 - counted), 0.01) / 64.0)));
  CHECK(found.odds.margin_low < found.lean_margin);
  CHECK(found.odds.margin_high > found.odds.margin_low);
  // Leaner points are beyond it with certainty, richer ones never; so is what may be advised.
  auto lean = given, rich = given;
  for (std::size_t i = 0; i < given.size(); ++i) {
    lean[i].leanest *= 1.5;
    rich[i].leanest *= 0.5;
    lean[i].trapped *= 1.5;
    rich[i].trapped *= 0.5;
  }
  Judgement a = judge(places, lean, usual_targets()), b = judge(places, rich, usual_targets());
  points.add_odds(a, places, lean, usual_targets(), 0.02);
  points.add_odds(b, places, rich, usual_targets(), 0.02);
  CHECK(a.odds.probability > 0.98);
  CHECK(b.odds.probability < 0.02);
  CHECK_FALSE(a.acceptable());
  CHECK_THAT(odds_text(a), Contains("Probability of being beyond the lean limit") && Contains("above 99 %"));
}

TEST_CASE("uncertain: other jets deviate in the proportion of the fitted ones", "[sim][studies]") {
  // What a search relies on: bikes drawn with the fitted jets, against bikes drawn with others.
  const ResolvedCase fitted = bike("mule_750");
  const double bore = fitted.bike.carburetor.main.main_jet.bore;
  const ResolvedCase other =
      bike("mule_750", {fmt::format("carburetor.main.jet.bore={:.17g} m", 1.06 * bore)});
  const auto places = places_of({{3500, 0.4}, {4500, 1.0}});
  PointScheduler scheduler(nullptr, 0);
  const auto of_fitted = as_given(fitted, places, scheduler), of_other = as_given(other, places, scheduler);
  const UncertainPoints a(fitted, places, of_fitted, 40, {}, scheduler),
      b(other, places, of_other, 40, {}, scheduler);
  for (std::size_t j = 0; j < places.size(); ++j) {
    const Range95 told = a.lambda_range_near(places[j], of_other[j].trapped), found = b.lambda_range(j);
    CAPTURE(j, told.low, told.high, found.low, found.high);
    CHECK_THAT(told.high - told.low, WithinAbs(found.high - found.low, 0.25 * (found.high - found.low)));
    CHECK_THAT(told.low, WithinAbs(found.low, 0.02));
    CHECK_THAT(told.high, WithinAbs(found.high, 0.02));
  }
}

TEST_CASE("uncertain: the range of lambda covers real bikes drawn from the same spreads", "[sim][studies]") {
  // 40 real bikes, each with its own described bike around which the owner's knowledge lies: a described size
  // is the real one off by a draw from its spread. Here by turns: the range of one described bike, and 40
  // real ones drawn from it with another seed.
  const ResolvedCase resolved = bike("mule_750");
  const auto places = places_of({{2000, 0.08}, {3000, 0.3}, {4500, 1.0}});
  PointScheduler scheduler(nullptr, 0);
  const auto given = as_given(resolved, places, scheduler);
  const UncertainPoints points(resolved, places, given, 64, {}, scheduler);
  const DrawnBikes real(resolved, 40, 20261130);
  const auto truth = run_steady(scheduler, real.tasks(places, {}));
  int inside = 0, all = 0;
  for (std::size_t b = 0; b < real.size(); ++b)
    for (std::size_t j = 0; j < places.size(); ++j) {
      const double lambda = truth[b * places.size() + j].trapped;
      const Range95 range = points.lambda_range(j);
      ++all;
      if (lambda >= range.low && lambda <= range.high) ++inside;
    }
  CAPTURE(inside, all);
  CHECK(inside >= 0.90 * all);
  CHECK(inside <= 0.995 * all);  // 120 points: 0.98 and a standard error
}

TEST_CASE("uncertain: a map says ranges and what matters, and its JSON is one object", "[sim][studies]") {
  const ResolvedCase resolved = bike("mule_750");
  StudyRequest request;
  request.study = "map";
  request.speeds = {3000 * rpm};
  request.openings = {0.3, 1.0};
  request.bikes = 12;
  PointScheduler scheduler(nullptr, 0);
  const StudyResult result = run_study(resolved, request, scheduler);
  CHECK_THAT(result.verdict, Contains("Probability of being beyond the lean limit"));
  CHECK_THAT(result.verdict, Contains("(95 %: "));
  CHECK_THAT(result.answer, Contains("Lambda is sure to"));
  CHECK_THAT(result.table, Contains("What matters"));
  CHECK(std::any_of(result.charts.begin(), result.charts.end(),
                    [](const Chart& c) { return !c.lines.empty() && !c.lines.front().band.empty(); }));
  const auto json = nlohmann::json::parse(study_json(result, request, {"a.h5"}));
  REQUIRE(json.at("points").size() == 2);
  for (const auto& p : json.at("points")) {
    CHECK(p.at("lambda_low").get<double>() < p.at("lambda").get<double>());
    CHECK(p.at("lambda_high").get<double>() > p.at("lambda").get<double>());
    for (const char* key : {"speed_rpm", "opening", "altitude_m", "torque_Nm"}) CHECK(p.at(key).is_number());
    for (const char* key : {"converged", "beyond_lean_limit"}) CHECK(p.at(key).is_boolean());
  }
  CHECK(json.at("what_matters").size() > 30);
  // Asked for in the same way again from its file.
  CHECK(request_from_json(result.file.inputs).bikes == 12);
  // Without bikes nothing of it is said.
  request.bikes = 0;
  const StudyResult plain = run_study(resolved, request, scheduler);
  CHECK_THAT(plain.verdict, !Contains("Probability"));
  const auto bare = nlohmann::json::parse(study_json(plain, request, {}));
  CHECK_FALSE(bare.at("points").at(0).contains("lambda_low"));
  CHECK_FALSE(bare.contains("what_matters"));
}

TEST_CASE("uncertain: what is not computed is null in JSON, not NaN", "[sim][studies]") {
  const ResolvedCase resolved = bike("mule_750");
  StudyRequest request;
  request.study = "map";
  request.speeds = {3000 * rpm};
  request.openings = {0.3};
  PointScheduler scheduler(nullptr, 0);
  StudyResult result = run_study(resolved, request, scheduler);
  for (auto& v : result.file.variables)
    for (double& value : v.values) value = NAN;
  const auto json = nlohmann::json::parse(study_json(result, request, {}));
  CHECK(json.at("points").at(0).at("lambda").is_null());
  CHECK(json.at("points").at(0).at("beyond_lean_limit").is_null());
}

TEST_CASE("uncertain: jets rank by the error that is to be expected, within the probability allowed",
          "[sim][studies]") {
  const ResolvedCase resolved = bike("mule_750");
  StudyRequest request;
  request.study = "jets";
  request.speeds = {2500 * rpm, 4500 * rpm};
  request.openings = {0.3, 1.0};
  const double bore = resolved.bike.carburetor.main.main_jet.bore;
  request.tries["main_jet"] = {bore - 0.05e-3, bore,          bore + 0.05e-3,
                               bore + 0.1e-3,  bore + 0.2e-3, bore + 0.3e-3};
  request.bikes = 40;
  PointScheduler scheduler(nullptr, 0);
  for (const double risk : {0.02, 0.5}) {
    request.lean_risk = risk;
    const SearchOutcome found = search_jets(resolved, request, scheduler);
    REQUIRE(found.uncertain);
    for (const auto& c : found.best) {
      REQUIRE(c.verdict.odds.known());
      CAPTURE(c.values, c.verdict.odds.probability);
      CHECK((found.too_likely || c.verdict.odds.probability <= risk));
      CHECK(c.verdict.odds.expected_error >= 0.9 * c.verdict.error);
    }
    for (std::size_t k = 1; k < found.best.size() && !found.too_likely; ++k)
      CHECK(found.best[k].verdict.odds.expected_error >= found.best[k - 1].verdict.odds.expected_error);
    const StudyResult told = run_study(resolved, request, scheduler);
    const auto json = nlohmann::json::parse(study_json(told, request, {}));
    REQUIRE(json.at("best").size() == found.best.size());
    CHECK(json.at("target").at("full") == 0.87);
    CHECK_THAT(json.at("as_fitted").at("sizes").at("main_jet").get<std::string>(), Contains(" mm"));
    CHECK(json.at("as_fitted").at("probability_lean").is_number());
    CHECK(json.at("verdict").is_string());
  }
}

TEST_CASE("uncertain: a chart draws the band of a line, and none where there is none", "[sim][studies]") {
  Chart chart;
  chart.name = "band";
  ChartLine line{"lambda", {{1.0, 0.9}, {2.0, 0.95}, {3.0, 0.87}, {4.0, 0.9}, {5.0, 0.9}}, true, {}};
  chart.lines = {line};
  CHECK_THAT(inline_svg(chart), !Contains("fill-opacity"));
  chart.lines.front().band = {{0.8, 1.0}, {0.9, 1.0}, {NAN, NAN}, {0.8, 0.93}, {0.85, 0.95}};
  CHECK_THAT(inline_svg(chart), Contains("fill-opacity"));
}
