#include <array>
#include <catch2/catch.hpp>
#include <cmath>
#include <regex>
#include <sstream>

#include "sim/report/lambda_text.hpp"
#include "sim/studies/jets_study.hpp"
#include "tests/sim/studies/study_bike.hpp"

namespace glassbowl::sim {
namespace {

const SteadyGrid two{{0.0}, {0.0}, {from_per_minute(3500.0)}, {0.3, 1.0}};

/// All that a study prints.
std::string all_text(const StudyResult& result) {
  return result.verdict + result.caution + result.answer + result.table;
}

/// The first number that says nothing: more than three digits before its decimals, or none at all.
std::string absurd_number(const std::string& text) {
  static const std::regex absurd(R"((\d{4,}\.\d+|-?\b(nan|inf)\b))");
  std::smatch found;
  return std::regex_search(text, found, absurd) ? found.str() : "";
}

std::string first_value(const Chart& chart) {
  for (const auto& line : chart.lines)
    for (const auto& [x, y] : line.points)
      if (y > 1000.0) return line.label;
  for (const double value : chart.cells.values)
    if (std::isfinite(value) && value > 1000.0) return chart.name;
  return "";
}

/// That the rows of a map end where their head ends, but for room for signs.
void check_in_line(const std::string& table) {
  std::istringstream lines(table);
  std::string line;
  std::size_t head = 0;
  while (std::getline(lines, line)) {
    if (line.starts_with("    rpm"))
      head = line.size();
    else if (head > 0 && !line.empty())
      CHECK(line.size() == head);
  }
  CHECK(head > 0);
}

SearchOutcome made_up(double lambda) {
  SteadyFigures f;
  f.state = 0.0;
  f.trapped = f.leanest = f.richest = lambda;
  f.filling = 0.95;
  f.swing = 0.05;
  f.torque = 50.0;
  f.misfires = 0.0;
  f.power = 1e4;
  SearchOutcome out;
  out.grid = two;
  out.adjusters = {adjusters_of(bike("mule_750")).front()};
  out.targets = usual_targets();
  out.fitted.values = {out.adjusters.front().fitted};
  out.fitted.figures = {f, f};
  out.fitted.verdict = judge(two.places(), out.fitted.figures, out.targets);
  out.combinations = 3;
  out.closest = out.fitted.verdict.lean_margin;
  return out;
}

}  // namespace

TEST_CASE("no fuel: no study prints a number, a change or a ranking where there is none", "[sim][studies]") {
  const ResolvedCase resolved =
      bike("mule_750", {"carburetor.main.jet.blocked=99.9 %", "carburetor.slow.jet.blocked=99.9 %"});
  PointScheduler scheduler(nullptr, 2);
  for (const char* study : {"map", "altitude", "overlap", "jets", "compare"}) {
    StudyRequest request;
    request.study = study;
    request.speeds = {from_per_minute(3500.0)};
    request.openings = {0.3, 1.0};
    request.altitudes = {0.0};
    if (request.study == "altitude") request.altitudes.push_back(2700.0);
    const double fitted = adjusters_of(resolved).front().fitted;
    if (request.study == "jets") request.tries["main_jet"] = {fitted, 1.02 * fitted};
    request.beside = resolved.text;
    request.beside_name = "beside";
    if (request.study != "compare" && request.study != "altitude") request.beside.clear();
    const StudyResult result = run_study(resolved, request, scheduler);
    INFO(study << "\n" << all_text(result));
    CHECK(absurd_number(all_text(result)).empty());
    CHECK_THAT(all_text(result), Catch::Contains("no fuel"));
    if (request.study == "map") check_in_line(result.table);
    for (const auto& chart : result.charts) {
      INFO(chart.name);
      CHECK(first_value(chart).empty());
    }
  }
}

TEST_CASE("no fuel: lambda, its changes and its ratios in words", "[sim][report]") {
  CHECK(lambda_text(0.9344) == "0.934");
  CHECK(lambda_text(0.9344, 2) == "0.93");
  CHECK(lambda_text(4.6) == "4.600");
  CHECK(lambda_text(5.1) == "no fuel");
  CHECK(lambda_text(8346566.521) == "no fuel");
  CHECK(lambda_text(INFINITY) == "no fuel");
  CHECK(lambda_text(NAN) == "-");
  CHECK(lambda_change(0.9, 1.0) == Approx(0.1));
  CHECK(std::isnan(lambda_change(0.9, 34607.0)));
  CHECK(std::isnan(lambda_ratio(12868.2, 0.9)));
  CHECK(lambda_ratio_text(0.8, 1.0) == "1.250");
  CHECK(lambda_ratio_text(12868.226, 7906179.676) == "no fuel");
  CHECK(lambda_ratio_text(0.9, NAN) == "-");
  CHECK(drawn_lambda(8346566.5) == highest_drawn_lambda);
  CHECK(std::isnan(drawn_lambda(NAN)));
  CHECK(counted(1, "combination") == "1 combination");
  CHECK(counted(2, "combination") == "2 combinations");
}

TEST_CASE("jets: margins where there is no fuel are words, in the table as in the answer", "[sim][studies]") {
  const SearchOutcome out = made_up(5350.0);
  const StudyResult result = tell_jets(bike("mule_750"), {}, out, nullptr);
  INFO(all_text(result));
  CHECK(absurd_number(all_text(result)).empty());
  CHECK_THAT(result.table, Catch::Contains("no fuel  no fuel"));
  CHECK_THAT(result.answer, Catch::Contains("almost no fuel"));
}

TEST_CASE("jets: a setting that runs leaner anywhere is marked in caution, answer and table",
          "[sim][studies]") {
  SearchOutcome out = made_up(0.85);
  Candidate candidate{
      {1.05 * out.adjusters.front().fitted}, made_up(0.88).fitted.figures, {}};  // a richer size
  candidate.verdict = judge(two.places(), candidate.figures, out.targets);
  out.best = {candidate};
  const LeanerThanFitted leaner = leaner_than_fitted(out, candidate);
  REQUIRE(leaner.points > 0);
  CHECK(leaner.points <= leaner.judged);
  CHECK(leaner.most == Approx(0.03));
  CHECK(runs_leaner(out, candidate));
  CHECK_THAT(caution_text(out), Catch::Contains("marked LEANER"));
  CHECK_THAT(outcome_text(out),
             Catch::Contains("Best 1, LEANER") && Catch::Contains("by up to 0.030 in lambda"));
  CHECK_THAT(tell_jets(bike("mule_750"), {}, out, nullptr).table,
             Catch::Contains(std::to_string(leaner.points) + " of " + std::to_string(leaner.judged)));
  out.best.front().figures = made_up(0.82).fitted.figures;
  CHECK_FALSE(runs_leaner(out, out.best.front()));
  CHECK_THAT(outcome_text(out), !Catch::Contains("LEANER"));
  CHECK_THAT(caution_text(out), Catch::Contains("No setting below runs leaner than fitted"));
}

TEST_CASE("jets: settings that are richer than the rich limit are not called inside the limits",
          "[sim][studies]") {
  SearchOutcome out = made_up(0.96);  // beyond the lean limit at full throttle
  Candidate rich{{1.1 * out.adjusters.front().fitted}, made_up(0.70).fitted.figures, {}};
  rich.verdict = judge(two.places(), rich.figures, out.targets);
  out.best = {rich};
  out.rejected = 1;
  const std::string text = outcome_text(out);
  INFO(text);
  CHECK_THAT(text, Catch::Contains("Best settings inside the lean limit:\nBest 1, beyond the rich limit: "));
  CHECK_THAT(text, Catch::Contains("Rejected: 1 combination, estimated"));
  out.best.front().figures = made_up(0.85).fitted.figures;
  out.best.front().verdict = judge(two.places(), out.best.front().figures, out.targets);
  CHECK_THAT(outcome_text(out), Catch::Contains("Best 1: ") && !Catch::Contains("rich limit:"));
}

}  // namespace glassbowl::sim
