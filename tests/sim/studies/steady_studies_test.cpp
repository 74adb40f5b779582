#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdio>
#include <cstring>
#include <fstream>
#include <iterator>
#include <thread>

#include "models/constants.hpp"
#include "models/fluids/atmosphere.hpp"
#include "sim/run/run_case.hpp"
#include "sim/steady/convergence_monitor.hpp"
#include "sim/studies/altitude_study.hpp"
#include "sim/studies/jets_study.hpp"
#include "sim/studies/overlap_study.hpp"
#include "tests/sim/cases/case_folder.hpp"
#include "tests/sim/studies/study_bike.hpp"
#include "tests/support/tolerance.hpp"

namespace glassbowl::sim {
namespace {

StudyRequest request_for(const std::string& study, std::vector<double> speeds, std::vector<double> openings) {
  StudyRequest r;
  r.study = study;
  for (const double s : speeds) r.speeds.push_back(from_per_minute(s));
  r.openings = std::move(openings);
  return r;
}

bool same_bits(const std::vector<double>& a, const std::vector<double>& b) {
  return a.size() == b.size() && std::memcmp(a.data(), b.data(), a.size() * sizeof(double)) == 0;
}

void check_same(const ResultFile& a, const ResultFile& b) {
  REQUIRE(a.variables.size() == b.variables.size());
  for (std::size_t i = 0; i < a.variables.size(); ++i) {
    INFO(a.variables[i].name);
    CHECK(same_bits(a.variables[i].values, b.variables[i].values));
  }
}

double trapped_of_long_run(const ResolvedCase& resolved, const Sets& sets, const Place& place) {
  const Sets run{"run.settle=8 s", "run.duration=1 s", "run.trace_interval=10 ms"};
  const Summary s =
      run_case(read_case_text(resolved.text, "run", joined(joined(sets, sets_at(place)), run)), {});
  double fuel = 0.0;
  for (const auto& c : s.cylinders) fuel += 1.0 / c.mean;
  return static_cast<double>(s.cylinders.size()) / fuel;
}

}  // namespace

TEST_CASE("study: interrupted five times and resumed, with any threads, the map is the same to the bit",
          "[sim][studies]") {
  const CaseFolder folder;
  const ResolvedCase resolved = bike("goat_400");
  const StudyRequest request = request_for("map", {2200, 2500, 4000, 5100}, {0.05, 0.3, 0.6, 1.0});
  PointScheduler plain(nullptr, 1);
  const StudyResult wanted = run_study(resolved, request, plain);
  const std::size_t points =
      plain.computed();  // of the map, and what shows whether lambda jumps between them
  REQUIRE(points >= 4 * 4);
  std::size_t kept = 0;
  for (int round = 0; round < 5; ++round) {
    PointJournal journal(folder / "map.points");
    std::atomic<bool> stop{false};
    PointScheduler scheduler(&journal, 1, &stop, [&](std::size_t, std::size_t) { stop = true; });
    CHECK_THROWS_AS(run_study(resolved, request, scheduler), StudyInterrupted);
    CHECK(journal.size() > kept);  // lanes may end together
    kept = journal.size();
  }
  REQUIRE(kept < points);
  PointJournal journal(folder / "map.points");
  PointScheduler last(&journal, 3);
  const StudyResult resumed = run_study(resolved, request, last);
  CHECK(last.computed() == points - kept);
  check_same(resumed.file, wanted.file);
  CHECK(resumed.answer == wanted.answer);
  CHECK(resumed.table == wanted.table);

  // And again from what its own file says.
  write_result_file(folder / "map.h5", false, wanted.file);
  const ResultFile file = read_result_file(folder / "map.h5");
  PointScheduler again(nullptr, 2);
  check_same(run_study(read_case_text(file.case_resolved, "map"), request_from_json(file.inputs), again).file,
             wanted.file);
}

TEST_CASE("study: a run beside it, and a point of it on its own, are the same to the bit", "[sim][studies]") {
  const CaseFolder folder;
  const ResolvedCase resolved = bike("courier_650");
  const auto write_run = [&](const char* name) {
    RunRequest request;
    request.trace = folder / name;
    run_case(bike("goat_400", {"run.duration=0.2 s"}), request);
    std::ifstream file(folder / name, std::ios::binary);
    return std::string(std::istreambuf_iterator<char>(file), {});
  };
  const auto base = std::make_shared<const SharedCase>(resolved.text, Sets{});
  const PointAccuracy brief{1e-4, 3, 4};  // unsettled, so nothing has been forgotten
  std::vector<PointTask> tasks;
  for (const double opening : {0.1, 0.2, 0.3, 0.5, 0.7, 1.0})
    tasks.push_back(steady_task(base, {from_per_minute(4000.0), opening, 0.0, 0.0}, brief));

  const std::string alone = write_run("alone.h5");
  PointScheduler together(nullptr, 2);
  std::vector<std::vector<double>> points;
  std::thread study([&] { points = together.run(tasks); });
  const std::string beside = write_run("beside.h5");
  study.join();
  CHECK(alone.size() > 10000);
  CHECK(beside == alone);
  REQUIRE(points.size() == tasks.size());
  for (std::size_t i = 0; i < tasks.size(); ++i) {
    CAPTURE(i);
    PointScheduler single(nullptr, 1);
    const std::vector<double> point = single.run({tasks[i]}).front();
    CHECK(same_bits(point, points[i]));
  }
}

TEST_CASE("altitude: a jet that is lean at the bottom is said to be beyond the lean limit",
          "[sim][studies]") {
  const auto answer = [](const char* jet) {
    StudyRequest request = request_for("altitude", {4000}, {1.0});
    request.altitudes = {0.0, 2700.0};
    PointScheduler scheduler(nullptr, 2);
    return run_study(bike("mule_750", {std::string("carburetor.main.jet.bore=") + jet}), request, scheduler);
  };
  const auto lean = answer("1.40 mm"), fitted = answer("1.67 mm");
  CHECK_THAT(lean.verdict, Catch::StartsWith("Verdict, as fitted: BEYOND A LIMIT: beyond the lean limit") &&
                               Catch::Contains("at 4000 rpm and 100 % throttle, 0 m"));
  CHECK_THAT(lean.answer, Catch::Contains("DANGEROUS") && !Catch::Contains("inside the limits"));
  CHECK_THAT(lean.caution, Catch::StartsWith("DO NOT RIDE it as fitted: beyond the lean limit"));
  CHECK_THAT(fitted.caution, !Catch::Contains("DO NOT RIDE"));
}

TEST_CASE("altitude: no smaller jet is offered to a bike that is lean somewhere", "[sim][studies]") {
  StudyRequest request = request_for("altitude", {3500}, {0.3, 1.0});
  request.altitudes = {0.0, 2700.0};
  PointScheduler scheduler(nullptr, 2);
  // Lean when wide open, not at 30 %: there a smaller jet would mend the height.
  const auto lean = run_study(bike("mule_750", {"carburetor.main.jet.bore=1.50 mm"}), request, scheduler);
  CHECK_THAT(lean.answer,
             Catch::Contains("DANGEROUS") && Catch::Contains("below about") &&
                 Catch::Contains("No leaner jet is offered for the height: as fitted, beyond the "
                                 "lean limit for its load") &&
                 Catch::Contains("First fit richer jets") && !Catch::Contains("restores"));
  // Rich everywhere: it is offered, and judged down again at every opening.
  const auto rich = run_study(bike("mule_750", {"carburetor.main.jet.bore=1.80 mm"}), request, scheduler);
  CHECK_THAT(rich.answer,
             Catch::Contains("At 100 % throttle the main jet restores the mixture at 2700 m best") &&
                 Catch::Contains("Down again at 0 m with it: beyond the lean limit for its load") &&
                 Catch::Contains("at 3500 rpm and 30 % throttle") && Catch::Contains("DANGEROUS"));
}

TEST_CASE("steady points: a place put into a bike is what the same place set in its case is",
          "[sim][studies]") {
  const ResolvedCase resolved = bike("courier_650");
  const Place place{from_per_minute(4000.0), 0.37, 1350.0, 8.0};
  const PointAccuracy brief{1e-4, 3, 4};  // compared before it settles: then nothing has been forgotten
  PointScheduler scheduler(nullptr, 1);
  const auto base = std::make_shared<const SharedCase>(resolved.text, Sets{});
  const SteadyFigures put = run_steady(scheduler, {steady_task(base, place, brief)}).front();
  const ResolvedCase set =
      read_case_text(resolved.text, "set", joined(sets_at(place), {"carburetor.enrichment.fitted=false"}));
  Simulation simulation(set.bike, set.plan.step);
  SteadyOptions options;
  options.most_cycles = brief.most_cycles;
  std::vector<Cycle> cycles;
  find_steady_cycle(simulation, options);
  const double period = 4.0 * m::constants::pi / place.speed;
  simulation.advance(simulation.time() + ConvergenceMonitor::seen_in * period,
                     [&](const Cycle& c) { cycles.push_back(c); });
  REQUIRE(put.state == 1.0);
  double air = 0.0;
  for (const auto& c : cycles) air += c.air_flow / static_cast<double>(cycles.size());
  CHECK_THAT(put.air, tests::near(air, tests::relative(1e-9, "units read from text round")));
}

TEST_CASE("steady points: leaving the shut enrichment circuit out changes nothing", "[sim][studies]") {
  const ResolvedCase resolved = bike("courier_650");
  REQUIRE(resolved.bike.carburetor.enrichment.fitted);
  const Place place{from_per_minute(4000.0), 0.5, 0.0, 0.0};
  PointScheduler scheduler(nullptr, 1);
  const auto base = std::make_shared<const SharedCase>(resolved.text, Sets{});
  const SteadyFigures without = run_steady(scheduler, {steady_task(base, place)}).front();
  const Sets run{"carburetor.enrichment.fitted=true", "run.settle=6 s", "run.duration=1 s",
                 "run.trace_interval=10 ms"};
  const Summary with = run_case(read_case_text(resolved.text, "run", joined(sets_at(place), run)), {});
  const auto enrichment = std::find_if(with.circuits.begin(), with.circuits.end(),
                                       [](const CircuitShare& c) { return c.name == "enrichment"; });
  REQUIRE(enrichment != with.circuits.end());
  CHECK(enrichment->flow == 0.0);
  CHECK_THAT(with.cylinders.front().mean, tests::near(without.trapped, tests::relative(1e-3, "settling")));
}

TEST_CASE("overlap: effects equal the finite differences of full runs to 5 %", "[sim][studies]") {
  const ResolvedCase resolved = bike("mule_750");
  const StudyRequest request = request_for("overlap", {3000}, {0.04, 0.5, 1.0});
  PointScheduler scheduler(nullptr, 2);
  const StudyResult result = run_study(resolved, request, scheduler);
  const auto& change = result.file.variable("lambda_change").values;
  const auto all = adjusters_of(resolved);
  // Where each has its say: main jet and main air jet wide open and half, slow jet, slow air and screw almost
  // shut.
  for (const auto& [id, opening] :
       {std::pair{"main_jet", 2}, std::pair{"main_air_jet", 1}, std::pair{"slow_jet", 0},
        std::pair{"slow_air_jet", 0}, std::pair{"screw", 0}}) {
    const Adjuster& a = find_adjuster(all, id);
    const auto k = static_cast<std::size_t>(&a - all.data());
    const Place place{from_per_minute(3000.0), request.openings[static_cast<std::size_t>(opening)], 0.0, 0.0};
    const double richer = a.moved(a.fitted, a.larger_is_richer ? 1 : -1);
    const double difference =
        trapped_of_long_run(resolved, a.setting(richer), place) - trapped_of_long_run(resolved, {}, place);
    const double studied = change[k * 3 + static_cast<std::size_t>(opening)];
    fmt::print("{} at {:.0f} %: study {:+.5f}, full runs {:+.5f}\n", a.name, place.opening * 100, studied,
               difference);
    INFO(a.name << ": study " << studied << ", full runs " << difference);
    CHECK(difference < -0.003);
    CHECK_THAT(studied, tests::near(difference, tests::relative(0.05, "demanded of the study")));
  }
}

TEST_CASE(
    "overlap: slow jet and screw act at small openings, the main jet at the top, the needle outdoes it "
    "between",
    "[sim][studies]") {
  for (const auto* name : {"mule_750", "courier_650"}) {
    const ResolvedCase resolved = bike(name);
    PointScheduler scheduler(nullptr, 2);
    const StudyResult result =
        run_study(resolved, request_for("overlap", {3500}, {0.03, 0.4, 1.0}), scheduler);
    CHECK_THAT(result.caution, Catch::Contains("CAUTION"));
    const auto& change = result.file.variable("lambda_change").values;
    const auto all = adjusters_of(resolved);
    const auto effect = [&](const char* id, std::size_t opening) {
      return std::abs(change[static_cast<std::size_t>(&find_adjuster(all, id) - all.data()) * 3 + opening]);
    };
    fmt::print(
        "{}: small, middle, full: slow jet {:.4f} {:.4f} {:.4f}, screw {:.4f} {:.4f} {:.4f}, main jet {:.4f} "
        "{:.4f} {:.4f}\n",
        name, effect("slow_jet", 0), effect("slow_jet", 1), effect("slow_jet", 2), effect("screw", 0),
        effect("screw", 1), effect("screw", 2), effect("main_jet", 0), effect("main_jet", 1),
        effect("main_jet", 2));
    CHECK(effect("slow_jet", 0) > 4.0 * effect("slow_jet", 2));
    CHECK(effect("screw", 0) > 4.0 * effect("screw", 2));
    CHECK(effect("main_jet", 2) > 4.0 * effect("main_jet", 0));
    if (std::string(name) == "courier_650") {
      fmt::print("needle height {:.4f} {:.4f} {:.4f}\n", effect("needle_raised", 0),
                 effect("needle_raised", 1), effect("needle_raised", 2));
      CHECK(effect("needle_raised", 1) > 2.0 * effect("main_jet", 1));
      CHECK(effect("needle_raised", 1) > 2.0 * effect("slow_jet", 1));
      // It goes with the piston: the lower that floats, the narrower the gap a step opens.
      CHECK(effect("needle_raised", 0) > effect("needle_raised", 1));
      CHECK_THAT(result.answer, Catch::Contains("The needle goes with the piston"));
      CHECK(result.charts.back().x_label == "piston lift [mm]");
      CHECK(effect("needle_raised", 1) > effect("needle_raised", 2));
    }
  }
}

namespace {

struct JetByDensity {
  double fitted = 0.0, found = 0.0;  ///< [m]
  double density = 0.0;              ///< [-] at the pass over that at the sea
  double authority = 0.0;            ///< [-] d ln fuel / d ln bore at the sea
};

/// Main jet that the search finds at 2,700 m for the mixture that the fitted one gives at the sea, wide open
/// at 5,500 1/min, where the depression of several kPa leaves the lip's few millimetres of fuel without a
/// say.
JetByDensity find_jet_at_the_pass(const ResolvedCase& resolved) {
  const double speed = 5500.0, altitude = 2700.0;
  PointScheduler scheduler(nullptr, 2);
  const Place bottom{from_per_minute(speed), 1.0, 0.0, 0.0};
  const Adjuster main = adjusters_of(resolved).front();
  REQUIRE(main.id == "main_jet");
  const double smaller = main.moved(main.fitted, -4);
  const auto sea = run_steady(
      scheduler, {steady_task(std::make_shared<SharedCase>(resolved.text, Sets{}), bottom),
                  steady_task(std::make_shared<SharedCase>(resolved.text, main.setting(smaller)), bottom)});
  const double wanted = sea[0].trapped;
  StudyRequest request = request_for("jets", {speed}, {1.0});
  request.altitudes = {altitude};
  request.targets["full"] = wanted;
  for (int k = -8; k <= 1; ++k) request.tries["main_jet"].push_back(main.moved(main.fitted, k));
  const SearchOutcome found = search_jets(resolved, request, scheduler);
  REQUIRE_FALSE(found.best.empty());
  const auto density = [](double h) {
    const auto air = m::standard_atmosphere(h);
    return air.pressure / air.temperature;
  };
  const JetByDensity out{main.fitted, found.best.front().values[0], density(altitude) / density(0.0),
                         std::log(sea[1].fuel / sea[0].fuel) / std::log(smaller / main.fitted)};
  fmt::print(
      "{}: main jet fitted {:.4f} mm, at 2,700 m found {:.4f} mm, fourth root of density {:.4f} mm, by its "
      "authority of {:.2f} {:.4f} mm; lambda {:.4f} for {:.4f}\n",
      resolved.name, out.fitted * 1e3, out.found * 1e3, out.fitted * std::pow(out.density, 0.25) * 1e3,
      out.authority, out.fitted * std::pow(out.density, 0.5 / out.authority) * 1e3,
      found.best.front().figures.front().trapped, wanted);
  return out;
}

constexpr double main_jet_step = 0.025e-3;  // [m] of the common list

}  // namespace

// At held speed and the same opening the volume flow of air does not change, so the venturi's depression goes
// with rho, air mass with rho, and turbulent fuel flow with sqrt(rho): F ~ d^b sqrt(rho), where b, the jet's
// authority, is 2 if the jet is all that holds the fuel back. Fuel over air is then d^b / sqrt(rho), and to
// keep it, d must go with rho^(1/(2 b)): with the fourth root for a jet alone. Riser, nozzle and bleed air
// that take their share of the depression leave the jet less authority, and it must shrink further.
TEST_CASE("jets: with thinner air the main jet found follows the fourth root of density", "[sim][studies]") {
  // The shipped 32 mm carburetor; and the 36 mm one with riser and nozzle wide and little bleed air.
  const JetByDensity jet = find_jet_at_the_pass(GENERATE(
      bike("goat_400"),
      bike("mule_750", {"carburetor.main.riser_diameter=4 mm", "carburetor.main.nozzle_diameter=4 mm",
                        "carburetor.main.air_jet.bore=0.5 mm", "carburetor.main.jet.bore=1.40 mm"})));
  CHECK_THAT(jet.found, tests::near(jet.fitted * std::pow(jet.density, 0.25),
                                    tests::absolute_error(main_jet_step, "one purchasable step")));
}

TEST_CASE("jets: on the shipped carburetors the main jet found follows density by the jet's authority",
          "[sim][studies]") {
  // The authority is measured at the sea, by itself; the search runs at the pass alone.
  const auto* name = GENERATE("mule_750", "courier_650_butterfly");
  const JetByDensity jet = find_jet_at_the_pass(bike(name));
  fmt::print("  {:+.1f} purchasable steps off the fourth root\n",
             (jet.found - jet.fitted * std::pow(jet.density, 0.25)) / main_jet_step);
  CHECK(jet.authority < 2.1);
  CHECK_THAT(jet.found, tests::near(jet.fitted * std::pow(jet.density, 0.5 / jet.authority),
                                    tests::absolute_error(main_jet_step, "one purchasable step")));
}

TEST_CASE("jets: nothing beyond the lean limit is recommended", "[sim][studies]") {
  const ResolvedCase resolved = bike("mule_750");
  StudyRequest request = request_for("jets", {4000}, {1.0});
  request.targets["full"] = 1.05;  // somebody asks for it
  const Adjuster main = adjusters_of(resolved).front();
  for (int k = -12; k <= 0; k += 3) request.tries["main_jet"].push_back(main.moved(main.fitted, k));
  PointScheduler scheduler(nullptr, 2);
  const SearchOutcome found = search_jets(resolved, request, scheduler);
  REQUIRE_FALSE(found.best.empty());
  for (const auto& c : found.best) CHECK(c.verdict.lean_margin >= search_rounding);
  request.tries["main_jet"] = {main.moved(main.fitted, -16)};
  const SearchOutcome none = search_jets(resolved, request, scheduler);
  CHECK(none.best.empty());
  CHECK_THAT(outcome_text(none), Catch::Contains("Nothing is recommended"));
  CHECK_THAT(run_jets(resolved, request, scheduler).caution, Catch::Contains("CAUTION"));
}

TEST_CASE("altitude: a jet for the pass is warned of before anything else", "[sim][studies]") {
  StudyRequest request = request_for("altitude", {3500}, {1.0});
  request.altitudes = {0.0, 2700.0};
  PointScheduler scheduler(nullptr, 2);
  const StudyResult result = run_study(bike("mule_750"), request, scheduler);
  CHECK_THAT(result.caution, Catch::StartsWith("THE WAY DOWN FIRST"));
  CHECK_THAT(result.answer, Catch::Contains("Down again at 0 m"));
  CHECK(result.charts.size() == 3);
}

TEST_CASE("jets: the three best are those of brute force with the reference integrator",
          "[sim][studies][.slow]") {
  const ResolvedCase resolved = bike("mule_750");
  StudyRequest request = request_for("jets", {3000, 4500}, {0.06, 0.5, 1.0});
  const auto all = adjusters_of(resolved);
  for (const auto* id : {"main_jet", "slow_jet", "main_air_jet"}) {
    const Adjuster& a = find_adjuster(all, id);
    request.tries[id] = {a.moved(a.fitted, -2), a.moved(a.fitted, 0), a.moved(a.fitted, 2)};
    std::sort(request.tries[id].begin(), request.tries[id].end());
  }
  PointScheduler scheduler(nullptr, 2);
  const SearchOutcome found = search_jets(resolved, request, scheduler);
  REQUIRE(found.best.size() == 3);

  const ResolvedCase exact =
      read_case_text(resolved.text, "exact", {"run.method=error_controlled", "run.tolerance=1e-5"});
  std::vector<std::pair<double, std::vector<double>>> order;
  for (std::size_t n = 0; n < 27; ++n) {
    const std::vector<double> values{found.sizes[0][n % 3], found.sizes[1][n / 3 % 3], found.sizes[2][n / 9]};
    const auto figures = run_steady(
        scheduler, map_tasks(exact.text, settings_of(found.adjusters, values), found.grid.places(), {}));
    const Judgement verdict = judge(found.grid.places(), figures, usual_targets());
    if (verdict.no_danger()) order.emplace_back(verdict.error, values);
  }
  std::sort(order.begin(), order.end());
  REQUIRE(order.size() >= 3);
  for (std::size_t k = 0; k < std::min<std::size_t>(5, order.size()); ++k)
    fmt::print("brute force {}: {:.5f} {}\n", k + 1, order[k].first,
               change_text(found.adjusters, order[k].second));
  for (std::size_t k = 0; k < 3; ++k) {
    fmt::print("search {}: {:.5f} {}\n", k + 1, found.best[k].verdict.error,
               change_text(found.adjusters, found.best[k].values));
    CHECK(found.best[k].values == order[k].second);
  }
}

}  // namespace glassbowl::sim
