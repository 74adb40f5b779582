#include <algorithm>
#include <atomic>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>
#include <sstream>

#include "sim/studies/blip_study.hpp"
#include "sim/studies/jets_study.hpp"
#include "tests/sim/cases/case_folder.hpp"
#include "tests/sim/studies/study_bike.hpp"
#include "tests/support/tolerance.hpp"

namespace glassbowl::sim {
namespace {

StudyRequest request_for(const std::string& study, std::vector<double> openings) {
  StudyRequest r;
  r.study = study;
  r.speeds = {from_per_minute(4000.0)};
  r.openings = std::move(openings);
  return r;
}

StudyRequest small_search(const std::string& study, const ResolvedCase& resolved) {
  StudyRequest r = request_for(study, {0.06, 1.0});
  const Adjuster main = adjusters_of(resolved).front();
  r.tries["main_jet"] = {main.fitted, main.moved(main.fitted, 2)};
  return r;
}

/// Whether the study's file can be written, and gives back what it was asked.
void check_file(const StudyResult& result, const StudyRequest& request) {
  const CaseFolder folder;
  write_result_file(folder / "study.h5", false, result.file);
  CHECK(read_result_file(folder / "study.h5").inputs == request_json(request));
}

}  // namespace

TEST_CASE("blips: without its pump the engine goes leaner and takes longer, and the words say so",
          "[sim][studies]") {
  StudyRequest request;
  request.study = "blips";
  request.variants = {{"no pump", {"carburetor.pump.fitted=false"}}};
  PointScheduler scheduler(nullptr, 2);
  const StudyResult result = run_study(bike("mule_750"), request, scheduler);
  check_file(result, request);
  const auto& leanest = result.file.variable("leanest").values;
  const auto& half = result.file.variable("rise_50").values;
  const auto& shot = result.file.variable("pump_volume").values;
  REQUIRE(leanest.size() == 2);
  CHECK(leanest[1] > leanest[0] + 0.1);
  CHECK(half[1] > half[0]);
  CHECK(shot[0] > 0.1e-6);
  CHECK_FALSE(shot[1] > 0.0);
  CHECK(result.file.text("variant_name").values == std::vector<std::string>{"as fitted", "no pump"});
  CHECK_THAT(result.answer, Catch::Contains("no pump: half of the rise"));
  CHECK_THAT(result.caution, Catch::Contains("CAUTION"));
  REQUIRE(result.charts.size() == 2);
  CHECK(result.charts[0].y_label == "speed [rpm]");
  CHECK(result.charts[0].lines.size() == 2);
}

TEST_CASE("blips: the table keeps long names whole and its columns in line", "[sim][studies]") {
  const std::vector<std::string> names{"as fitted", "pump nozzle half blocked, override spring weak"};
  const std::string table = blip_table(names, std::vector<BlipFigures>(2));
  CHECK_THAT(table, Catch::Contains(names[1]));
  std::istringstream lines(table.substr(1));
  std::string line;
  std::vector<std::size_t> ends;
  while (std::getline(lines, line)) ends.push_back(line.size());
  REQUIRE(ends.size() == 5);  // title, two lines of heads, two variants
  CHECK(ends[2] == ends[3]);
  CHECK(ends[3] == ends[4]);
}

TEST_CASE("blips: the usual variants of each carburetor are ones that its case accepts", "[sim][studies]") {
  for (const auto* name : {"mule_750", "courier_650", "goat_400"}) {
    const ResolvedCase resolved = bike(name);
    const auto variants = usual_variants(resolved);
    CHECK(variants.size() >= 2);
    for (const auto& v : variants) {
      INFO(name << ": " << v.name);
      CHECK_NOTHROW(read_case_text(resolved.text, name, v.sets));
    }
  }
}

TEST_CASE("compare: two carburetors on one engine, each as a map of its own says", "[sim][studies]") {
  StudyRequest request = request_for("compare", {0.13, 1.0});
  request.altitudes = {0.0, 2700.0};
  const ResolvedCase piston = bike("courier_650"), butterfly = bike("courier_650_butterfly");
  request.beside = butterfly.text;
  request.beside_name = butterfly.name;
  PointScheduler scheduler(nullptr, 2);
  const StudyResult result = run_study(piston, request, scheduler);
  check_file(result, request);
  const auto& both = result.file.variable("lambda_trapped").values;
  REQUIRE(both.size() == 8);
  StudyRequest alone = request;
  alone.study = "map";
  for (std::size_t k = 0; k < 2; ++k) {
    const auto map =
        run_study(k == 0 ? piston : butterfly, alone, scheduler).file.variable("lambda_trapped").values;
    CHECK(std::equal(map.begin(), map.end(), both.begin() + static_cast<std::ptrdiff_t>(4 * k)));
  }
  for (const auto& name : {piston.name, butterfly.name})
    CHECK_THAT(result.answer, Catch::Contains(name + ":"));
  CHECK_THAT(result.table, Catch::Contains("2700 m") && Catch::Contains("10 %   50 %   90 %"));
  CHECK(result.charts.size() == 2 * 2 + 1 + 2);
}

TEST_CASE("jets: after a change of the engine the same search runs again, before and after",
          "[sim][studies]") {
  const ResolvedCase resolved = bike("goat_400");
  StudyRequest request = small_search("jets", resolved);
  const double before = resolved.bike.engine.crank.compression_ratio, after = before + 1.5;
  request.change = {"engine.compression_ratio=" + std::to_string(after)};
  PointScheduler scheduler(nullptr, 2);
  const StudyResult result = run_study(resolved, request, scheduler);
  check_file(result, request);
  // More compression gives more work of each charge, by no more than the air-standard Otto cycle's efficiency
  // 1 - r^(1 - g) with g = 1.3 (Heywood 1988, eq. 5.31).
  const auto efficiency = [](double r) { return 1.0 - std::pow(r, -0.3); };
  const double work = result.file.variable("after_indicated_torque").values[1] /
                      result.file.variable("indicated_torque").values[1];
  CHECK(work > 1.0);
  CHECK(work < 1.01 * efficiency(after) / efficiency(before));
  CHECK(result.answer.find("Before the change") < result.answer.find("After it"));
  CHECK_THAT(result.answer, Catch::Contains("Most power with the jets as fitted"));
  CHECK_THAT(result.table, Catch::Contains("After the change"));
  // For bore, cam and exhaust it is the same way: the changed case alone says the same.
  request.change = {"engine.bore=80 mm", "engine.intake.closes_after_bottom=60 deg", "silencer.area=500 mm2"};
  const StudyResult other = run_study(resolved, request, scheduler);
  request.change.clear();
  const StudyResult alone = run_study(
      bike("goat_400",
           {"engine.bore=80 mm", "engine.intake.closes_after_bottom=60 deg", "silencer.area=500 mm2"}),
      request, scheduler);
  CHECK(other.file.variable("after_lambda_trapped").values == alone.file.variable("lambda_trapped").values);
}

TEST_CASE("jets: advice for the heights that goes leaner is led by the way down", "[sim][studies]") {
  const ResolvedCase resolved = bike("goat_400");
  StudyRequest request = request_for("jets", {1.0});
  request.altitudes = {2700.0};
  const Adjuster main = adjusters_of(resolved).front();
  request.tries["main_jet"] = {main.moved(main.fitted, -1)};
  PointScheduler scheduler(nullptr, 2);
  const StudyResult result = run_study(resolved, request, scheduler);
  CHECK_THAT(result.caution,
             Catch::StartsWith("THE WAY DOWN FIRST") && Catch::Contains("Best 1 at sea level: "));
  // And what it says of the sea is what a run down there gives.
  request.altitudes = {0.0};
  const SearchOutcome down = search_jets(resolved, request, scheduler);
  request.altitudes = {2700.0};
  const SearchOutcome up = search_jets(resolved, request, scheduler);
  REQUIRE(up.descent.size() == 1);
  const auto figures = run_steady(
      scheduler,
      map_tasks(resolved.text, settings_of(up.adjusters, up.best[0].values), down.grid.places(), {}));
  CHECK(up.descent[0].lean_margin == judge(down.grid.places(), figures, usual_targets()).lean_margin);
}

TEST_CASE("jets: interrupted at every point five times and resumed, the search ends the same",
          "[sim][studies]") {
  const CaseFolder folder;
  const ResolvedCase resolved = bike("goat_400");
  const StudyRequest request = small_search("jets", resolved);
  PointScheduler plain(nullptr, 2);
  const StudyResult wanted = run_study(resolved, request, plain);
  int interrupted = 0;
  for (int round = 0; round < 5; ++round) {
    PointJournal journal(folder / "jets.points");
    std::atomic<bool> stop{false};
    PointScheduler scheduler(&journal, 1, &stop, [&](std::size_t, std::size_t) { stop = true; });
    try {
      run_study(resolved, request, scheduler);
    } catch (const StudyInterrupted&) {
      ++interrupted;
    }
  }
  CHECK(interrupted >= 2);  // points that end together are kept together
  PointJournal journal(folder / "jets.points");
  PointScheduler last(&journal, 2);
  const StudyResult resumed = run_study(resolved, request, last);
  CHECK(resumed.answer == wanted.answer);
  CHECK(resumed.table == wanted.table);
  for (std::size_t i = 0; i < wanted.file.variables.size(); ++i) {
    const auto &a = wanted.file.variables[i].values, &b = resumed.file.variables[i].values;
    REQUIRE(a.size() == b.size());
    CHECK(std::memcmp(a.data(), b.data(), a.size() * sizeof(double)) == 0);
  }
}

TEST_CASE("sheet: the page carries bike, settings, caution, questions and both kinds of charts",
          "[sim][studies]") {
  const ResolvedCase resolved = bike("goat_400");
  PointScheduler scheduler(nullptr, 2);
  const StudyRequest request = small_search("sheet", resolved);
  const StudyResult result = run_study(resolved, request, scheduler);
  check_file(result, request);
  REQUIRE(result.sheet);
  const std::string page = tuning_sheet_html(*result.sheet);
  const auto settings = page.find("<h2>Settings");
  CHECK(page.find("CAUTION") < settings);
  CHECK_THAT(page, Catch::Contains("goat_400") && Catch::Contains("main jet") &&
                       Catch::Contains("road test") && Catch::Contains("Fuel share by circuit") &&
                       Catch::Contains("Lambda"));
  const auto has = [&](ChartKind kind) {
    return std::any_of(result.charts.begin(), result.charts.end(),
                       [&](const Chart& c) { return c.kind == kind; });
  };
  CHECK(result.charts.size() >= 3);  // one more where another setting is recommended
  CHECK(has(ChartKind::cells));
  CHECK(has(ChartKind::lines));
}

TEST_CASE("jets: where no point can be judged, nothing is recommended", "[sim][studies]") {
  const ResolvedCase resolved = bike("mule_750");
  StudyRequest request = small_search("sheet", resolved);
  request.speeds = {from_per_minute(800.0)};  // wide open there, nobody can hold it
  request.openings = {1.0};
  request.tries = {{"main_jet", {1.2e-3, 1.65e-3}}};
  PointScheduler scheduler(nullptr, 2);
  const StudyResult result = run_study(resolved, request, scheduler);
  CHECK_THAT(result.answer,
             Catch::Contains("Nothing is judged") && !Catch::Contains("inf") && !Catch::Contains("Best 1"));
  CHECK_THAT(tuning_sheet_html(*result.sheet),
             Catch::Contains("<b>none found</b>") && Catch::Contains("not judged"));
}

TEST_CASE("sheet: where nothing tried is inside the limits, nothing is advised", "[sim][studies]") {
  const ResolvedCase resolved = bike("mule_750", {"carburetor.main.jet.bore=1.40 mm"});
  StudyRequest request = small_search("sheet", resolved);
  request.speeds = {from_per_minute(4000.0)};
  request.openings = {0.5, 1.0};
  request.tries = {{"main_jet", {1.35e-3, 1.40e-3}}};
  PointScheduler scheduler(nullptr, 2);
  const StudyResult result = run_study(resolved, request, scheduler);
  CHECK_THAT(result.caution, Catch::StartsWith("DO NOT RIDE it as fitted"));
  CHECK_THAT(result.answer, Catch::Contains("Nothing is recommended"));
  CHECK_THAT(tuning_sheet_html(*result.sheet),
             Catch::Contains("<b>none found</b>") && !Catch::Contains("<b>1.4"));
}

TEST_CASE("map: points that fail are not computed, with their reasons, and the others go on",
          "[sim][studies]") {
  const CaseFolder folder;
  // An air jet bored out and a main jet blocked: the slow riser runs empty, which some steps cannot follow.
  const ResolvedCase resolved =
      bike("mule_750", {"carburetor.main.jet.blocked=99.9 %", "carburetor.slow.air_jet.wear=1.8 mm"});
  StudyRequest request = request_for("map", {0.3, 0.75, 1.0});
  request.speeds = {from_per_minute(1000.0), from_per_minute(3000.0)};
  StudyResult first;
  for (int round = 0; round < 2; ++round) {  // computed, then from the journal
    PointJournal journal(folder / "map.points");
    PointScheduler scheduler(&journal, 1);
    const StudyResult result = run_study(resolved, request, scheduler);
    const auto& state = result.file.variable("state").values;
    const auto failed = std::count(state.begin(), state.end(), 2.0);
    CHECK(failed > 0);
    CHECK(failed < std::ssize(state));
    const auto &names = result.file.text("failed_point_name").values,
               &reasons = result.file.text("failed_point_reason").values;
    REQUIRE(std::ssize(names) == failed);
    REQUIRE(std::ssize(reasons) == failed);
    CHECK(result.file.axis("failed_point").values.size() == names.size());
    CHECK_THAT(names.front(), Catch::Contains("1000 rpm") && Catch::Contains("% throttle"));
    for (const auto& reason : reasons) CHECK_THAT(reason, Catch::Contains("slow_riser_fuel"));
    CHECK_THAT(result.answer, Catch::Contains("Not computed: ") && Catch::Contains(names.front() + ": "));
    check_file(result, request);
    if (round == 0) first = result;
    CHECK(result.answer == first.answer);
    CHECK(reasons == first.file.text("failed_point_reason").values);
  }
}

TEST_CASE("studies: a variant that is no legal case is not computed, with its reason", "[sim][studies]") {
  const ResolvedCase resolved = with_blip(bike("goat_400"));
  PointScheduler scheduler(nullptr, 1);
  const auto blip = to_blip(
      scheduler.run({blip_task(resolved.text, {"carburetor.main.jet.bore=90 mm"}, "too wide")}).front());
  CHECK_FALSE(blip.computed());
  const auto base = std::make_shared<const SharedCase>(resolved.text, Sets{"carburetor.main.jet.bore=90 mm"});
  const auto point =
      run_steady(scheduler, {steady_task(base, {from_per_minute(3000.0), 0.3, 0.0, 0.0})}).front();
  CHECK_FALSE(point.usable());
  REQUIRE(scheduler.failures().size() == 2);
  for (const auto& failure : scheduler.failures()) CHECK_THAT(failure.why_not, Catch::Contains("90 mm"));
  CHECK(scheduler.failures()[0].name == "blip, too wide");
}

}  // namespace glassbowl::sim
