#include "sim/run/run_case.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>
#include <map>

#include "sim/api/trace.hpp"
#include "sim/report/summary_text.hpp"
#include "sim/run/channels.hpp"
#include "sim/run/summary_numbers.hpp"
#include "tests/sim/cases/case_folder.hpp"
#include "tests/sim/cases/message_of.hpp"
#include "tests/sim/run/short_case.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

RunRequest keep_in(const fs::path& trace) {
  RunRequest request;
  request.trace = trace;
  return request;
}

/// Whether two lists hold the same bits, NaN included.
bool same_bits(const std::vector<double>& a, const std::vector<double>& b) {
  return a.size() == b.size() && std::memcmp(a.data(), b.data(), a.size() * sizeof(double)) == 0;
}

/// Names of channels in which two traces differ.
std::vector<std::string> differences(const fs::path& a, const fs::path& b) {
  const TraceReader first(a), second(b);
  std::vector<std::string> out;
  for (const auto dimension : {Dimension::time, Dimension::cycle})
    for (const auto& channel : first.channels(dimension))
      if (!same_bits(first.read(channel.name), second.read(channel.name))) out.push_back(channel.name);
  if (!same_bits(first.read("time"), second.read("time"))) out.push_back("time");
  return out;
}

std::map<std::string, double> numbers_of(const Summary& summary) {
  const auto list = summary_numbers(summary);
  return {list.begin(), list.end()};
}

}  // namespace

TEST_CASE("run: fuel, air and energy close", "[sim][run][balance]") {
  const std::vector<std::string> sets =
      GENERATE(values<std::vector<std::string>>({{}, {"run.method=error_controlled"}}));
  const ResolvedCase resolved = short_case(sets);
  const Summary s = run_case(resolved, {});
  std::printf("short run: fuel %.1e, air %.1e, energy %.1e (%s), lowest margin %.1e (%s)\n", s.budget.fuel,
              s.budget.air, s.budget.energy, s.budget.energy_volume.c_str(), s.budget.lowest_margin,
              s.budget.lowest_margin_name.c_str());
  REQUIRE(s.ending == Ending::complete);
  REQUIRE(s.fuel_flow > 1e-5);
  CHECK(s.budget.fuel < 1e-9);
  CHECK(s.budget.air < 1e-9);
  CHECK(s.budget.energy < 1e-8);
  // A state within tolerance times nominal size of its bound is at it, for either integrator.
  CHECK(s.budget.lowest_margin > -resolved.plan.step.tolerance);
}

TEST_CASE("run: rows stand on their times, from 0 to the end", "[sim][run]") {
  const CaseFolder folder;
  run_case(short_case({"run.trace_interval=0.7 ms", "run.duration=0.05 s"}), keep_in(folder / "a.h5"));
  const TraceReader trace(folder / "a.h5");
  const auto time = trace.read("time");
  REQUIRE(time.size() == 73);  // 0 to 71 times 0.7 ms, and the end
  for (std::size_t i = 0; i + 1 < time.size(); ++i) CHECK(time[i] == static_cast<double>(i) * 0.7e-3);
  CHECK(time.back() == 0.05);
  CHECK(trace.complete());
}

TEST_CASE("run: twice the same case gives the same trace", "[sim][run][exact]") {
  const CaseFolder folder;
  run_case(opening_case(), keep_in(folder / "a.h5"));
  run_case(opening_case(), keep_in(folder / "b.h5"));
  CHECK(differences(folder / "a.h5", folder / "b.h5") == std::vector<std::string>{});
  const TraceReader a(folder / "a.h5"), b(folder / "b.h5");
  REQUIRE(a.summary().size() == b.summary().size());
  for (std::size_t i = 0; i < a.summary().size(); ++i) {
    INFO(a.summary()[i].first);
    CHECK(same_bits({a.summary()[i].second}, {b.summary()[i].second}));
  }
}

TEST_CASE("run: a trace's own case repeats it to the last bit", "[sim][run][exact]") {
  const CaseFolder folder;
  run_case(opening_case({"carburetor.main.jet.bore=1.234 mm"}), keep_in(folder / "a.h5"));
  const TraceReader first(folder / "a.h5");
  run_case(read_case_text(first.case_resolved(), "again"), keep_in(folder / "b.h5"));
  CHECK(differences(folder / "a.h5", folder / "b.h5") == std::vector<std::string>{});
}

TEST_CASE("run: two different cases give different traces", "[sim][run]") {
  const CaseFolder folder;
  run_case(short_case(), keep_in(folder / "a.h5"));
  run_case(short_case({"carburetor.main.jet.bore=1.234 mm"}), keep_in(folder / "b.h5"));
  CHECK(differences(folder / "a.h5", folder / "b.h5").size() > 50);
}

TEST_CASE("run: keeping a trace and a table changes no figure", "[sim][run][exact]") {
  const CaseFolder folder;
  RunRequest keep = keep_in(folder / "a.h5");
  keep.csv = folder / "a.csv";
  const auto kept = numbers_of(run_case(opening_case(), keep));
  const auto plain = numbers_of(run_case(opening_case(), {}));
  REQUIRE(kept.size() == plain.size());
  for (const auto& [name, value] : plain) {
    INFO(name);
    CHECK(same_bits({value}, {kept.at(name)}));
  }
}

TEST_CASE("run: an outside program can close the budgets from the trace alone", "[sim][run][balance]") {
  const CaseFolder folder;
  run_case(short_case(), keep_in(folder / "a.h5"));
  const TraceReader trace(folder / "a.h5");
  const auto gain = [&](const std::string& name) {
    const auto values = trace.read(name);
    return values.back() - values.front();
  };
  const double fuel = gain("fuel_held") + gain("total_fuel_burned") + gain("total_fuel_exhausted") +
                      gain("total_fuel_stood_off") + gain("total_fuel_overflowed");
  const double delivered = gain("total_main_fuel") + gain("total_idle_fuel");
  REQUIRE(delivered > 1e-5);
  CHECK(std::abs(fuel) < 1e-9 * delivered);
  const double air = gain("air_held") + gain("total_air_exhausted") + gain("total_air_burned") -
                     gain("total_air_filtered") - gain("total_air_leaked");
  REQUIRE(gain("total_air_filtered") > 1e-4);
  CHECK(std::abs(air) < 1e-9 * gain("total_air_filtered"));
  const double cylinder = gain("cylinder_1_energy") - gain("total_intake_valve_1_enthalpy") +
                          gain("total_exhaust_valve_1_enthalpy") - gain("total_cylinder_1_energy");
  REQUIRE(std::abs(gain("total_cylinder_1_energy")) > 1.0);
  CHECK(std::abs(cylinder) < 1e-8 * std::abs(gain("total_cylinder_1_energy")));
}

TEST_CASE("run: misfires are counted over the charges that are counted", "[sim][run]") {
  // A cycle takes 0.04 s: runs end at four places within one.
  const char* duration = GENERATE("0.25 s", "0.26 s", "0.27 s", "0.28 s");
  const Summary s = run_case(
      short_case({"engine.combustion.weak_spark=100 %", std::string("run.duration=") + duration}), {});
  const long charges = 2 * s.cycles;
  CHECK(s.misfires <= charges);
  CHECK(s.misfires >= charges - 2);  // those of the first cycle that came before time 0 are none of them
}

TEST_CASE("run: an engine without mixture stalls, and that is a whole result", "[sim][run]") {
  const CaseFolder folder;
  const auto resolved =
      short_case({"load.kind=neutral", "load.speed=2000 1/min", "rider.throttle=0 %",
                  "engine.combustion.weak_spark=100 %", "run.settle=0 s", "run.duration=20 s"});
  const Summary s = run_case(resolved, keep_in(folder / "a.h5"));
  CHECK(s.ending == Ending::stalled);
  CHECK(s.simulated > 0.05);
  CHECK(s.simulated < 19.0);
  CHECK(s.misfires > 0);
  const TraceReader trace(folder / "a.h5");
  CHECK(trace.status().starts_with("stopped early: stalled at "));
  CHECK(trace.read("time").back() == s.simulated);
  CHECK_FALSE(fs::exists(folder / "a.h5.partial"));
}

TEST_CASE("run: a stall while it settles leaves an empty trace that says when", "[sim][run]") {
  const CaseFolder folder;
  const auto resolved =
      short_case({"load.kind=neutral", "load.speed=1000 1/min", "rider.throttle=0 %",
                  "engine.combustion.weak_spark=100 %", "run.settle=20 s", "run.duration=1 s"});
  const Summary s = run_case(resolved, keep_in(folder / "a.h5"));
  CHECK(s.ending == Ending::stalled);
  CHECK(s.simulated == 0.0);
  CHECK(s.settle > 0.05);
  CHECK(s.settle < 19.0);
  const TraceReader trace(folder / "a.h5");
  CHECK(trace.rows() == 0);
  CHECK(trace.status().starts_with("stopped early: stalled at -"));
  CHECK_THAT(summary_text(s), Catch::Contains("of warm-up") && Catch::Contains("No results."));
}

TEST_CASE("run: a stop from outside finishes the files", "[sim][run]") {
  const CaseFolder folder;
  std::atomic<bool> stop{false};
  RunRequest request = keep_in(folder / "a.h5");
  request.csv = folder / "a.csv";
  request.stop = &stop;
  request.progress = [&](double, double time) {
    if (time > 0.1) stop = true;
  };
  const Summary s = run_case(short_case({"run.duration=1 s"}), request);
  CHECK(s.ending == Ending::interrupted);
  CHECK(s.simulated > 0.1);
  CHECK(s.simulated < 0.2);
  CHECK(TraceReader(folder / "a.h5").status() == "stopped early: interrupted");
  CHECK(fs::exists(folder / "a.csv"));
}

TEST_CASE("run: a stop while it settles finishes the files too", "[sim][run]") {
  const CaseFolder folder;
  std::atomic<bool> stop{true};
  RunRequest request = keep_in(folder / "a.h5");
  request.stop = &stop;
  const Summary s = run_case(opening_case(), request);
  CHECK(s.ending == Ending::interrupted);
  CHECK(s.simulated == 0.0);
  CHECK(std::isnan(s.lambda.mean));
  CHECK(TraceReader(folder / "a.h5").rows() == 0);
}

TEST_CASE("run: a computation that fails leaves its rows, not a finished trace", "[sim][run]") {
  const CaseFolder folder;
  auto resolved = short_case({"run.method=error_controlled", "run.settle=0 s"});
  resolved.plan.step.smallest = 1.0;
  RunRequest request = keep_in(folder / "a.h5");
  request.csv = folder / "a.csv";
  const auto error = error_of([&] { run_case(resolved, request); });
  REQUIRE(error.has_value());
  CHECK(error->kind() == ErrorKind::solver);
  CHECK(error->exit_code() == 1);
  CHECK_THAT(error->what(), Catch::Contains("a.h5.partial") && !Catch::Contains("a.csv"));  // no cycle ended
  CHECK(fs::exists(folder / "a.h5.partial"));
  CHECK_FALSE(fs::exists(folder / "a.csv.partial"));
  CHECK_FALSE(fs::exists(folder / "a.h5"));
  CHECK_FALSE(fs::exists(folder / "a.csv"));
}

TEST_CASE("run: nothing is replaced unless asked", "[sim][run]") {
  const CaseFolder folder;
  folder.write("a.csv", "mine");
  RunRequest request;
  request.csv = folder / "a.csv";
  const auto error = error_of([&] { run_case(short_case(), request); });
  REQUIRE(error.has_value());
  CHECK(error->kind() == ErrorKind::input);
  CHECK(fs::file_size(folder / "a.csv") == 4);
  request.force = true;
  run_case(short_case(), request);
  CHECK(fs::file_size(folder / "a.csv") > 100);
  CHECK_FALSE(fs::exists(folder / "a.csv.partial"));
}

TEST_CASE("run: the figures agree with the trace", "[sim][run]") {
  const CaseFolder folder;
  const Summary s = run_case(short_case(), keep_in(folder / "a.h5"));
  const TraceReader trace(folder / "a.h5");
  const auto mean = [&](const char* name) {
    double sum = 0.0;
    const auto values = trace.read(name);
    for (const double v : values) sum += v;
    return sum / static_cast<double>(values.size());
  };
  // 2,501 rows of a signal that repeats six times: the mean of samples is good to a per cent.
  CHECK(mean("manifold_pressure") == Approx(s.manifold_pressure).epsilon(0.01));
  CHECK(mean("carburetor_fuel_flow") == Approx(s.fuel_flow).epsilon(0.01));
  CHECK(mean("bowl_level") == Approx(s.bowl_level.mean).epsilon(1e-5));
  CHECK(s.speed == Approx(3000.0 * 3.14159265358979 / 30.0));
  // Lambda is averaged by fuel per air.
  const auto strength = [&](const char* name) {
    double sum = 0.0;
    const auto values = trace.read(name);
    for (const double v : values) sum += 1.0 / v;
    return sum / static_cast<double>(values.size());
  };
  CHECK(2.0 / (strength("cycle_cylinder_1_lambda") + strength("cycle_cylinder_2_lambda")) ==
        Approx(s.lambda.mean).epsilon(1e-6));
  double shares = 0.0;
  for (const auto& circuit : s.circuits) shares += circuit.share;
  CHECK(shares == Approx(1.0).epsilon(1e-12));
  CHECK(static_cast<long>(trace.cycles()) == s.cycles);
}

}  // namespace glassbowl::sim
