#include <catch2/catch.hpp>
#include <cmath>
#include <nlohmann/json.hpp>

#include "sim/report/json.hpp"
#include "sim/report/text.hpp"
#include "sim/run/find_case.hpp"
#include "sim/run/runner.hpp"
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
  CHECK_THAT(text, Catch::Contains("STALLED"));
  CHECK_THAT(text, Catch::Contains("not reached"));
  CHECK_THAT(text, !Catch::Contains("nan") && !Catch::Contains("inf"));
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
  CHECK_THAT(summary_caution(s), Catch::Contains("30 % of a cylinder's charges") && Catch::Contains("seize"));
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
  CHECK_THAT(summary_caution(s), Catch::Contains("of a cylinder's charges"));
}

TEST_CASE("report: without a throttle movement there is no lag", "[sim][report]") {
  const auto json = nlohmann::json::parse(summary_json(run_case(short_case(), {})));
  CHECK_FALSE(json.contains("blip_lag_50_s"));
}

}  // namespace glassbowl::sim
