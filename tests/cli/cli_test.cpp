#include <signal.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <chrono>
#include <cstring>
#include <fstream>
#include <nlohmann/json.hpp>
#include <sstream>
#include <string>
#include <thread>
#include <vector>

#include "sim/api/trace.hpp"
#include "sim/cases/find_case.hpp"
#include "tests/cli/program.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

const char* const short_run = R"(
title = "Short test run"
base = "bikes/mule_750.toml"
[load]
kind = "held_speed"
speed = "3000 1/min"
[rider]
throttle = "30 %"
[run]
duration = "0.1 s"
)";

}  // namespace

TEST_CASE("program: a run prints its summary and leaves a trace beside", "[cli]") {
  const CaseFolder folder;
  folder.write("short.toml", short_run);
  const auto first = run_program(folder, {"run", "short.toml", "--csv", "cycles.csv"});
  INFO(first.err);
  CHECK(first.code == 0);
  CHECK(first.err.empty());
  CHECK_THAT(first.out, Catch::Contains("Short test run") && Catch::Contains("main nozzle") &&
                            Catch::Contains("simulated seconds per second") && Catch::Contains("short.h5"));
  CHECK(TraceReader(folder / "short.h5").complete());
  CHECK(text_in(folder / "cycles.csv").starts_with("cycle,cycle_start [s],"));

  SECTION("again, it replaces nothing unless forced") {
    const auto second = run_program(folder, {"run", "short.toml"});
    CHECK(second.code == 2);
    CHECK_THAT(second.err, Catch::Contains("short.h5") && Catch::Contains("glassbowl: "));
    CHECK(run_program(folder, {"run", "short.toml", "--force"}).code == 0);
    CHECK(run_program(folder, {"run", "short.toml", "--no-trace", "--csv", "cycles.csv"}).code == 2);
  }
  SECTION("its trace runs again to the same bits") {
    CHECK(run_program(folder, {"run", "short.h5", "-o", "again.h5"}).code == 0);
    const TraceReader a(folder / "short.h5"), b(folder / "again.h5");
    for (const auto& channel : a.channels(Dimension::time)) {
      INFO(channel.name);
      const auto x = a.read(channel.name), y = b.read(channel.name);
      CHECK(std::memcmp(x.data(), y.data(), x.size() * sizeof(double)) == 0);
      CHECK(x.size() == y.size());
    }
  }
  SECTION("its trace runs again under its own name only when forced") {
    CHECK(run_program(folder, {"run", "short.h5"}).code == 2);
    CHECK(TraceReader(folder / "short.h5").complete());
  }
}

TEST_CASE("program: JSON is all that --json prints", "[cli]") {
  const CaseFolder folder;
  folder.write("short.toml", short_run);
  const auto result =
      run_program(folder, {"run", "--no-trace", "--set", "rider.throttle=\"20 %\"", "--json", "short.toml"});
  CHECK(result.code == 0);
  const auto json = nlohmann::json::parse(result.out);
  CHECK(json["case"] == "short");
  CHECK(json["fuel_budget_residual"].get<double>() < 1e-9);
  CHECK_FALSE(fs::exists(folder / "short.h5"));
}

TEST_CASE("program: a run in which the engine stalls ends with 1, explained on paper and in JSON", "[cli]") {
  const CaseFolder folder;
  const std::vector<std::string> stall{"run", "warm_idle", "--no-trace", "--set",
                                       "carburetor.slow.jet.blocked=90 %"};
  const auto text = run_program(folder, stall);
  CHECK(text.code == 1);
  CHECK_THAT(text.out, Catch::Contains("Engine stalled at") && Catch::Contains("No results. Try: "));
  CHECK(text.err == "glassbowl: warm_idle: the engine stalled; the summary says when and why\n");
  auto words = stall;
  words.emplace_back("--json");
  const auto machine = run_program(folder, words);
  CHECK(machine.code == 1);
  CHECK(nlohmann::json::parse(machine.out)["stall"]["cause"] == "mixture too lean");
}

TEST_CASE("program: wrong use and bad input end with 2 and one message", "[cli]") {
  const CaseFolder folder;
  folder.write("short.toml", short_run);
  folder.write("bad.toml", std::string(short_run) + "durration = \"1 s\"\n");
  folder.write("empty.toml", " \n");
  const std::vector<std::vector<std::string>> wrong{{"run"},
                                                    {"fly"},
                                                    {"run", "short.toml", "--speed"},
                                                    {"run", "nowhere.toml"},
                                                    {"run", "."},
                                                    {"run", "bad.toml"},
                                                    {"check", "bad.toml"},
                                                    {"run", "empty.toml"},
                                                    {"run", "short.toml", "--set", "run.duration=5 kg"},
                                                    {"run", "short.toml", "--set", "nonsense"},
                                                    {"run", "short.toml", "--no-trace", "-o", "a.h5"},
                                                    {"list", "riders"}};
  for (const auto& arguments : wrong) {
    const auto result = run_program(folder, arguments);
    std::string said;
    for (const auto& word : arguments) said += word + " ";
    INFO(said << ": " << result.err);
    CHECK(result.code == 2);
    CHECK(result.out.empty());
    CHECK(result.err.starts_with("glassbowl: "));
  }
  CHECK_THAT(run_program(folder, {"fly"}).err, Catch::Contains("\"fly\" is no command"));
  CHECK_THAT(run_program(folder, {"run", "--csv"}).err, Catch::Contains("glassbowl run --help"));
  CHECK_THAT(run_program(folder, {"run", "bikes/goat_400"}).err,
             Catch::Contains("A bike alone has no ride") && Catch::Contains("glassbowl map bikes/goat_400") &&
                 Catch::Contains("[[\"0 s\", "));
  CHECK_THAT(run_program(folder, {"map", "bikes/goat_400", "--set", "carburetor.typo=1"}).err,
             Catch::Contains("typo") && !Catch::Contains("A bike alone"));
  CHECK_THAT(run_program(folder, {"run", "bad.toml"}).err,
             Catch::Contains("durration") && Catch::Contains("did you mean"));
  CHECK_THAT(run_program(folder, {"run", "empty.toml"}).err,
             Catch::Contains("empty.toml: this file is empty"));
  CHECK_FALSE(fs::exists(folder / "short.h5"));
}

TEST_CASE("program: what is read is never written over, not by force either", "[cli]") {
  const CaseFolder folder;
  folder.write("short.toml", short_run);
  folder.write("longer.toml", "base = \"short.toml\"\n");
  REQUIRE(run_program(folder, {"run", "short.toml", "-o", "short.h5"}).code == 0);
  const std::string trace = text_in(folder / "short.h5");
  for (const auto& arguments : {std::vector<std::string>{"run", "short.toml", "-o", "short.toml", "--force"},
                                {"run", "short.toml", "--no-trace", "--csv", "./short.toml", "--force"},
                                {"run", "longer.toml", "--no-trace", "--csv", "short.toml", "--force"},
                                {"map", "short.toml", "-o", "short.toml", "--force"},
                                {"run", "short.h5", "-o", "short.h5", "--force"}}) {
    const auto result = run_program(folder, arguments);
    CHECK(result.code == 2);
    CHECK_THAT(result.err, Catch::Contains("would be written over what is read"));
  }
  CHECK(text_in(folder / "short.toml") == short_run);
  CHECK(text_in(folder / "short.h5") == trace);
}

TEST_CASE("program: a place where no trace or table can be is wrong use, named as given", "[cli]") {
  const CaseFolder folder;
  folder.write("short.toml", short_run);
  const auto result = run_program(folder, {"run", "short.toml", "-o", "missing/a.h5"});
  CHECK(result.code == 2);
  CHECK_THAT(result.err, Catch::Contains("missing"));
  const auto table = run_program(folder, {"run", "short.toml", "--no-trace", "--csv", "missing/a.csv"});
  CHECK(table.code == 2);
  CHECK_THAT(table.err, Catch::StartsWith("glassbowl: missing/a.csv: the folder missing does not exist"));
}

TEST_CASE("program: a checked case can be read again, and gives the same", "[cli]") {
  const CaseFolder folder;
  folder.write("short.toml", short_run);
  const auto first = run_program(folder, {"check", "short.toml", "--set", "float.level=-5 mm"});
  CHECK(first.code == 0);
  CHECK_THAT(first.out, Catch::Contains("-5 mm"));
  folder.write("whole.toml", first.out);
  const auto second = run_program(folder, {"check", "whole.toml"});
  INFO(second.err);
  CHECK(second.code == 0);
  CHECK_THAT(second.out, Catch::Contains("-5 mm"));
}

TEST_CASE("program: lists, help and version", "[cli]") {
  const CaseFolder folder;
  CHECK_THAT(run_program(folder, {"list", "runs"}).out, Catch::Contains("warm_idle"));
  CHECK_THAT(run_program(folder, {"list", "channels"}).out,
             Catch::Contains("bowl_level") && Catch::Contains("bowl joint face") &&
                 Catch::Contains("enrichment_fuel_flow") && Catch::Contains("piston_lift"));
  CHECK_THAT(run_program(folder, {"list", "keys"}).out, Catch::Contains("idle_stop"));
  CHECK_THAT(run_program(folder, {"list", "bikes"}).out,
             Catch::Contains("bikes/goat_400") && Catch::Contains("400 cc single"));
  const auto all = run_program(folder, {"list"});
  CHECK(all.code == 0);
  CHECK_THAT(all.out,
             Catch::Contains("bikes") && Catch::Contains("mule_750") && Catch::Contains("cycle_lambda"));
  for (const char* what : {"bikes", "runs"}) {  // names as other commands take them
    std::istringstream names(run_program(folder, {"list", what}).out);
    std::string line, name;
    std::getline(names, line);
    int count = 0;
    for (; std::getline(names, line); ++count) {
      if (line.starts_with("    ")) continue;  // a title goes on
      std::istringstream(line) >> name;
      CAPTURE(name);
      CHECK_NOTHROW(find_case(name));
    }
    CHECK(count >= 3);
  }
  const auto version = run_program(folder, {"--version"});
  CHECK(version.code == 0);
  CHECK(version.out.starts_with("glassbowl "));
}

TEST_CASE("cautions: every help text carries them", "[cli]") {
  const CaseFolder folder;
  for (const char* command : {"", "run", "check", "list", "verify", "map", "overlap", "blips", "altitude",
                              "jets", "sheet", "compare"}) {
    CAPTURE(command);
    const auto help =
        *command == '\0' ? run_program(folder, {"--help"}) : run_program(folder, {command, "--help"});
    CHECK(help.code == 0);
    CHECK_THAT(help.out, Catch::Contains("Caution:") && Catch::Contains("seizes pistons") &&
                             Catch::Contains("workshop manual") && Catch::Contains("emission law"));
  }
}

TEST_CASE("program: an engine that stalls for want of a spark is not said to lack fuel", "[cli]") {
  const CaseFolder folder;
  folder.write("short.toml", short_run);
  const auto result = run_program(
      folder, {"run", "short.toml", "--set", "load.kind=neutral", "--set", "load.speed=900 1/min", "--set",
               "rider.throttle=0 %", "--set", "engine.combustion.weak_spark=100 %", "--set",
               "run.duration=20 s", "--set", "run.settle=1 s", "--set", "load.released=0.05 s"});
  CHECK(result.code == 1);
  CHECK_THAT(result.out, Catch::Contains("Engine stalled at") && Catch::Contains("misfired") &&
                             Catch::Contains("spark (weak or late)") && !Catch::Contains("slow jet"));
  CHECK(TraceReader(folder / "short.h5").status().starts_with("stopped early: stalled"));
}

TEST_CASE("program: an interrupt finishes the trace", "[cli]") {
  const CaseFolder folder;
  folder.write("short.toml", short_run);
  const pid_t child = start_program(
      folder, {"run", "short.toml", "--set", "run.duration=600 s", "--set", "run.trace_interval=10 ms"});
  for (int i = 0; i < 500 && !fs::exists(folder / "short.h5.partial"); ++i)
    std::this_thread::sleep_for(std::chrono::milliseconds(20));
  REQUIRE(fs::exists(folder / "short.h5.partial"));
  kill(child, SIGINT);
  CHECK(code_of(child) == 1);
  CHECK(TraceReader(folder / "short.h5").status() == "stopped early: interrupted");
  CHECK_THAT(text_in(folder / "out"), Catch::Contains("Interrupted at"));
  CHECK_THAT(text_in(folder / "err"), Catch::Contains("interrupted at"));
}

}  // namespace glassbowl::sim
