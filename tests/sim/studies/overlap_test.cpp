#include <algorithm>
#include <catch2/catch.hpp>
#include <regex>
#include <sstream>

#include "sim/run/lean_limit_under_load.hpp"
#include "sim/studies/judging.hpp"
#include "sim/studies/overlap_study.hpp"
#include "sim/studies/point_marks.hpp"
#include "tests/sim/studies/study_bike.hpp"

namespace glassbowl::sim {
namespace {

SteadyFigures point(double idle, double ports, double main, double lambda = 0.9, double filling = 0.8) {
  SteadyFigures f;
  f.state = 0.0;
  f.trapped = f.leanest = f.richest = lambda;
  f.misfires = 0.0;
  f.torque = 30.0;
  f.filling = filling;
  f.swing = 0.05;
  f.idle = idle;
  f.ports = ports;
  f.main = main;
  f.fuel = idle + ports + main;
  return f;
}

}  // namespace

TEST_CASE("overlap: openings are named as they were examined", "[sim][studies]") {
  const std::vector<double> openings{0.0, 0.02, 0.045, 0.5, 1.0};
  CHECK(openings_where(openings, {false, false, false, false, false}).empty());
  CHECK(openings_where(openings, {true, true, true, true, true}) == "0 to 100 %");
  CHECK(openings_where(openings, {true, false, true, true, false}) == "0 % and 4.5 to 50 %");
  CHECK(openings_where(openings, {true, false, true, false, true}) == "0 %, 4.5 % and 100 %");
}

TEST_CASE("overlap: what is said of shares never contradicts a row of the table", "[sim][studies]") {
  // At 4 % the idle outlet still leads, at 0 % the ports deliver less than a tenth.
  const std::string text = shares_text({0.0, 0.02, 0.04, 0.06}, {point(90.9, 9.1, 0), point(62.1, 37.9, 0),
                                                                 point(51.9, 48.1, 0), point(39.2, 60.8, 0)});
  INFO(text);
  CHECK_THAT(text, Catch::Contains("Dominant circuit from 4.3 % throttle on: transfer ports, before: idle "
                                   "outlet (points: 4 %, 6 %)"));
  CHECK_THAT(text, Catch::Contains("From 0.1 % to 6.0 % the idle outlet and the transfer ports"));
  // A point that is not known says nothing.
  const std::string gap = shares_text({0.0, 0.02, 0.04, 0.06}, {point(90.9, 9.1, 0), SteadyFigures{},
                                                                point(51.9, 48.1, 0), point(39.2, 60.8, 0)});
  CHECK_THAT(gap, Catch::Contains("from 4.3 %") && !Catch::Contains("nan %"));
}

TEST_CASE("overlap: lean points and the largest change between neighbours are said", "[sim][studies]") {
  const std::vector<double> openings{0.13, 0.16, 0.3, 0.6};
  const std::vector<SteadyFigures> figures{point(1, 1, 0, 1.048, 0.4), point(1, 1, 1, 0.884),
                                           point(0, 0, 1, 0.98), point(0, 0, 1, 1.00)};
  const std::string text = lean_text(openings, figures);
  INFO(text);
  CHECK_THAT(text, Catch::StartsWith("BEYOND THE LEAN LIMIT at 30 to 60 % throttle. Worst at 60 %") &&
                       Catch::Contains("1.000, limit 0.95"));
  CHECK_THAT(text, Catch::Contains("lambda 1.048 at 13 %, 0.884 at 16 %"));
  const std::string inside = lean_text({0.13, 0.16}, {figures[0], figures[1]});
  CHECK_THAT(inside,
             Catch::StartsWith("Inside the lean limit at the points under load (13 to 16 % throttle). "
                               "Smallest margin 0.066, at 16 %"));
  CHECK_THAT(lean_text({0.16, 0.3}, {figures[1], SteadyFigures{}}), Catch::Contains("Not known at 30 %"));
}

TEST_CASE("overlap: a slow jet that only shifts shares is explained, by its way through the main jet",
          "[sim][studies]") {
  const std::vector<double> openings{0.1, 0.2};
  const std::vector<SteadyFigures> figures{point(3, 7, 0), point(1, 4, 5)};
  const auto all = adjusters_of(bike("mule_750"));
  Effect slow{
      find_adjuster(all, "slow_jet"), 0.55e-3, {-0.05, -0.001}, {point(3, 7.5, 0), point(1, 4.2, 4.8)}};
  const std::string text = no_effect_text(openings, figures, {slow}, SlowSource::well);
  INFO(text);
  CHECK_THAT(text, Catch::Contains("at 20 %: slow jet") && Catch::Contains("passes the main jet first") &&
                       Catch::Contains("slow circuit 50.0 to 52.0 %, main nozzle 50.0 to 48.0 %"));
  CHECK_THAT(no_effect_text(openings, figures, {slow}, SlowSource::bowl),
             Catch::Contains("at 20 %: slow jet") && !Catch::Contains("main jet first"));
  slow.change[1] = -0.02;
  CHECK(no_effect_text(openings, figures, {slow}, SlowSource::well).empty());
}

TEST_CASE("overlap: text, table and charts of one study mark the same points", "[sim][studies]") {
  const ResolvedCase resolved = bike("mule_750", {"carburetor.main.jet.bore=1.6 mm"});
  StudyRequest request;
  request.study = "overlap";
  request.speeds = {from_per_minute(3000.0)};
  request.openings = {0.13, 0.16, 0.25, 0.3, 0.4};
  PointScheduler scheduler(nullptr, 2);
  const StudyResult result = run_study(resolved, request, scheduler);
  INFO(result.answer << result.table);
  // By the file's own numbers.
  const auto& leanest = result.file.variable("lambda_leanest").values;
  const auto& filling = result.file.variable("filling").values;
  std::vector<bool> beyond;
  for (std::size_t i = 0; i < 5; ++i)
    beyond.push_back(leanest[i] > lean_limit_under_load(filling[i]) - search_rounding);
  REQUIRE(std::count(beyond.begin(), beyond.end(), true) > 0);
  REQUIRE(std::count(beyond.begin(), beyond.end(), false) > 0);
  CHECK_THAT(result.answer,
             Catch::Contains("BEYOND THE LEAN LIMIT at " + openings_where(request.openings, beyond)));
  CHECK_THAT(result.verdict, Catch::StartsWith("Verdict, as fitted: ") && Catch::Contains("beyond"));
  CHECK_THAT(result.answer, Catch::Contains("slow jet") && Catch::Contains("passes the main jet first"));
  std::size_t row = 0;
  std::istringstream lines(result.table);
  for (std::string line; std::getline(lines, line);) {
    std::smatch found;
    if (!std::regex_match(line, found,
                          std::regex(" +[0-9]+ %  +[0-9.]+([!~x?]*) .* mm|"
                                     " +[0-9]+ %  +[0-9.]+([!~x?]*) .* %")))
      continue;
    REQUIRE(row < 5);
    CHECK((found[2].str().find('!') != std::string::npos) == beyond[row]);
    ++row;
  }
  CHECK(row == 5);
  for (const auto& chart : result.charts) {
    INFO(chart.name);
    for (std::size_t i = 0; i < 5; ++i)
      CHECK(std::any_of(chart.marks.begin(), chart.marks.end(), [&](const ChartMark& m) {
              return m.mark == PointMark::beyond_limit && m.x == request.openings[i] * 100;
            }) == beyond[i]);
  }
}

}  // namespace glassbowl::sim
