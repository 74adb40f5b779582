#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>
#include <regex>
#include <sstream>

#include "sim/cases/find_case.hpp"
#include "sim/report/summary_json.hpp"
#include "sim/report/summary_text.hpp"
#include "sim/run/run_case.hpp"
#include "tests/sim/run/short_case.hpp"

namespace glassbowl::sim {

TEST_CASE("report: the JSON object has the names that scripts rely on", "[sim][report]") {
  const Summary s = run_case(opening_case(), {});
  const auto json = nlohmann::json::parse(summary_json(s));
  for (const char* name : {"fuel_budget_residual", "air_budget_residual", "energy_budget_residual",
                           "realtime_factor", "lambda_mean", "lambda_leanest", "lambda_richest",
                           "misfired_cycles", "speed_mean_rpm", "power_mean_kW"}) {
    INFO(name);
    REQUIRE(json.contains(name));
    CHECK(json[name].is_number());
  }
  CHECK(json.contains("blip_lag_50_s"));
  REQUIRE(json["circuit_share"].is_object());
  double sum = 0.0;
  for (const auto& share : json["circuit_share"]) sum += share.get<double>();
  CHECK(sum == Approx(1.0));
  CHECK(json["lambda_richest"] <= json["lambda_mean"]);
  CHECK(json["lambda_mean"] <= json["lambda_leanest"]);
  CHECK(json["speed_mean_rpm"].get<double>() == Approx(s.speed * 30.0 / 3.14159265358979));
  CHECK(json["cylinders"].size() == 2);
  CHECK(json["stalled"] == false);
}

TEST_CASE("report: what is not known is null in JSON and a word in text", "[sim][report]") {
  Summary s;
  s.name = "empty";
  s.wall = s.simulated = 1.0;
  s.blip.emplace();
  s.blip->start = 1.0;
  s.blip->end = 2.0;
  s.blip->before = 100.0;
  s.blip->peak = 200.0;
  s.ending = Ending::stalled;
  s.warnings = {"a doubtful value \xff"};
  const auto json = nlohmann::json::parse(summary_json(s));
  CHECK(json["blip_lag_50_s"].is_null());
  CHECK(json["lambda_mean"].is_null());
  CHECK(json["stalled"] == true);
  const std::string text = summary_text(s);
  CHECK_THAT(text, Catch::Contains("Engine stalled"));
  CHECK_THAT(text, Catch::Contains("not reached"));
  CHECK_THAT(text, !Catch::Contains("nan") && !Catch::Contains("inf"));
}

TEST_CASE("report: where there is no fuel, text says so and JSON has null and the reason", "[sim][report]") {
  // At full throttle on a main jet that is all but blocked: hardly a droplet comes.
  const Summary s = run_case(short_case({"rider.throttle=100 %", "carburetor.main.jet.blocked=99.9 %",
                                         "run.settle=4 s", "run.duration=0.3 s"}),
                             {});
  REQUIRE(s.lambda.highest > 100.0);
  CHECK_FALSE(s.stall);
  const std::string text = summary_text(s);
  INFO(text);
  const std::string lambda =
      text.substr(text.find("\nLambda\n"), text.find("\nEngine\n") - text.find("\nLambda\n"));
  CHECK_THAT(lambda, Catch::Contains("carburetor                no fuel") &&
                         Catch::Contains("in-cylinder, cylinder 1   no fuel"));
  CHECK_FALSE(std::regex_search(lambda, std::regex("(mean|richest|leanest) [0-9]{2}")));
  const auto json = nlohmann::json::parse(summary_json(s));
  CHECK(json["lambda_leanest"].is_null());
  CHECK(json["cylinders"][0]["lambda_leanest"].is_null());
  const auto& names = json["null_because_no_fuel"];
  CHECK(std::find(names.begin(), names.end(), "lambda_leanest") != names.end());
  CHECK(std::find(names.begin(), names.end(), "cylinder_1_lambda_leanest") != names.end());
  const auto good = nlohmann::json::parse(summary_json(run_case(short_case(), {})));
  CHECK(good["null_because_no_fuel"].empty());
  CHECK(good["lambda_leanest"].is_number());
}

TEST_CASE("report: without any fuel at all there is no lambda at the carburetor", "[sim][report]") {
  Summary s;
  s.simulated = s.wall = 1.0;
  s.air_flow = 1e-3;
  s.cylinders = {{INFINITY, INFINITY, INFINITY}};
  CHECK_THAT(summary_text(s), Catch::Contains("carburetor                no fuel") &&
                                  Catch::Contains("cylinder 1   no fuel") && !Catch::Contains("inf"));
  const auto json = nlohmann::json::parse(summary_json(s));
  CHECK(json["lambda_carburetor"].is_null());
  CHECK(json["null_because_no_fuel"][0] == "lambda_carburetor");
}

TEST_CASE("report: a stall is explained in the first lines, with numbers and what to try", "[sim][report]") {
  const auto idling = [](const std::string& fault) {
    return run_case(read_case(find_case("warm_idle"), {fault, "run.duration=0.5 s"}), {});
  };
  const Summary lean = idling("carburetor.slow.jet.blocked=90 %");
  REQUIRE(lean.stall);
  CHECK(lean.stall->advice.front() == "clear the slow jet (carburetor.slow.jet.blocked = 90 % in this case)");
  CHECK(lean.stall->cause == StallCause::lean);
  CHECK(lean.stall->warming_up);
  CHECK(lean.stall->time == Approx(lean.settle));
  CHECK(lean.stall->in_a_row > 2);
  CHECK(lean.stall->lambda.back() > 1.5);
  // Delivered and needed by the definition of lambda, as far as a cycle's charge is that cycle's flow.
  CHECK(lean.stall->needed / lean.stall->delivered == Approx(lean.stall->lambda.back()).epsilon(0.4));
  CHECK(lean.stall->idle + lean.stall->ports + lean.stall->main == Approx(lean.stall->delivered));
  const std::string text = summary_text(lean);
  INFO(text);
  CHECK_THAT(text.substr(0, text.find("\nBalance error")),
             Catch::Contains("Engine stalled at") && Catch::Contains("of warm-up: cylinder") &&
                 Catch::Contains("misfired") && Catch::Contains("in-cylinder lambda") &&
                 Catch::Contains("% of the") && Catch::Contains("that lambda 1 needs") &&
                 Catch::Contains("idle outlet") &&
                 Catch::Contains("\nNo results. Try: clear the slow jet ") &&
                 Catch::Contains("further out; larger slow jet;"));
  const auto json = nlohmann::json::parse(summary_json(lean));
  CHECK(json["stall"]["cause"] == "mixture too lean");
  CHECK(json["stall"]["fuel_needed_g_s"].get<double>() == Approx(lean.stall->needed * 1e3));
  CHECK_FALSE(json["stall"]["try"].empty());
  CHECK(json["lambda_mean"].is_null());

  const Summary rich = idling("rider.choke=100 %");
  REQUIRE(rich.stall);
  CHECK(rich.stall->cause == StallCause::rich);
  CHECK(rich.stall->advice.front() == "choke open");
  for (const auto& advice : rich.stall->advice) CHECK_THAT(advice, !Catch::Contains("smaller"));
}

TEST_CASE("report: a stall under too much load is not explained by misfires", "[sim][report]") {
  const Summary s =
      run_case(read_case(find_case("warm_idle"), {"engine.friction.cold_factor=4", "run.duration=1 s"}), {});
  REQUIRE(s.stall);
  CHECK(s.stall->cause == StallCause::weak);
  CHECK_THAT(summary_text(s), Catch::Contains("too little torque") && Catch::Contains("higher idle stop"));
}

TEST_CASE("report: the first three lines of a run are its result", "[sim][report]") {
  const auto first_lines = [](const Summary& s) {
    std::istringstream text(summary_text(s));
    std::string three;
    for (int i = 0; i < 3; ++i) {
      std::string line;
      std::getline(text, line);
      three += line + "\n";
    }
    return three;
  };
  CHECK_THAT(first_lines(run_case(short_case(), {})),
             Catch::Contains("In-cylinder lambda: mean 0.") && Catch::Contains("misfires: 0 of ") &&
                 Catch::Contains(" cycles") && Catch::Contains(" rpm, brake torque ") &&
                 Catch::Contains(" kW"));
  CHECK_THAT(first_lines(run_case(opening_case(), {})),
             Catch::Contains("Throttle response: 50 % of the rise"));
}

TEST_CASE("report: a stall after a single cycle is told in the singular", "[sim][report]") {
  Summary s;
  s.ending = Ending::stalled;
  s.wall = 1.0;
  s.stall.emplace();
  s.stall->time = 0.3;
  s.stall->cylinder = 1;
  s.stall->in_a_row = 1;
  s.stall->lambda = {1.7};
  s.stall->delivered = s.stall->needed = 1e-4;
  s.stall->cause = StallCause::lean;
  s.stall->advice = {"larger slow jet"};
  CHECK_THAT(
      summary_text(s),
      Catch::Contains("Engine stalled at 0.30 s: cylinder 1 misfired in its only cycle, at lambda 1.70.\n"
                      "No results. Try: larger slow jet.\n") &&
          !Catch::Contains("1 cycles") && !Catch::Contains("in a row"));
}

TEST_CASE("report: lean charges call for a caution", "[sim][report]") {
  Summary s;
  CHECK(summary_caution(s).empty());
  s.lambda = {1.0, 0.9, 1.1};
  CHECK(summary_caution(s).empty());
  s.lambda.highest = 1.2;
  CHECK_THAT(summary_caution(s), Catch::Contains("seize") && Catch::Contains("workshop manual"));
  s.lambda.highest = 1.05;
  CHECK(summary_caution(s).empty());
  s.lean_charges = 0.3;  // at full load lambda 1.05 is too lean already
  CHECK_THAT(summary_caution(s),
             Catch::Contains("30 % of the cycles of one cylinder") && Catch::Contains("seize"));
}

TEST_CASE("report: what is nothing has no sign", "[sim][report]") {
  Summary s;
  s.simulated = 1.0;
  s.power = -1e-9;
  CHECK_THAT(summary_text(s), Catch::Contains("0.00 kW") && !Catch::Contains("-0.00"));
}

TEST_CASE("report: one cylinder that runs lean is not hidden behind the other", "[sim][report]") {
  // As shipped, cylinder 1 of this pull is beyond the limit for a tenth of its charges, cylinder 2 never.
  const Summary s = run_case(read_case(find_case("full_throttle_pull")), {});
  REQUIRE(s.cylinders.size() == 2);
  CHECK(s.cylinders[0].highest > 0.95);
  CHECK(s.cylinders[1].highest < 0.95);
  CHECK(s.lean_charges > 0.05);
  CHECK_THAT(summary_caution(s), Catch::Contains("of the cycles of one cylinder"));
}

TEST_CASE("report: without a throttle movement there is no lag", "[sim][report]") {
  const auto json = nlohmann::json::parse(summary_json(run_case(short_case(), {})));
  CHECK_FALSE(json.contains("blip_lag_50_s"));
}

}  // namespace glassbowl::sim
