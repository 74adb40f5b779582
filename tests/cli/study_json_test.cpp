#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "tests/cli/program.hpp"

namespace glassbowl::sim {
namespace {

nlohmann::json printed_by(const CaseFolder& folder, const std::vector<std::string>& arguments) {
  const Outcome outcome = run_program(folder, arguments);
  INFO(outcome.err);
  REQUIRE(outcome.code == 0);
  CHECK(outcome.out.front() == '{');
  return nlohmann::json::parse(outcome.out);  // throws at anything before or behind
}

}  // namespace

TEST_CASE("studies: with --json each prints one object and nothing else", "[cli]") {
  const CaseFolder folder;
  const std::string points = "30, 100 %", speed = "3500 rpm";
  const auto map = printed_by(folder, {"map", "bikes/goat_400", "--json", "--no-charts", "--speeds", speed,
                                       "--openings", points, "--uncertain", "8"});
  REQUIRE(map.at("points").size() == 2);
  for (const auto& p : map.at("points")) {
    for (const char* key :
         {"speed_rpm", "opening", "altitude_m", "lambda", "lambda_low", "lambda_high", "torque_Nm"})
      CHECK(p.at(key).is_number());
    for (const char* key : {"converged", "beyond_lean_limit"}) CHECK(p.at(key).is_boolean());
  }
  CHECK(map.at("files").at(0) == "goat_400-map.h5");
  const auto jets = printed_by(folder, {"jets", "bikes/goat_400", "--json", "--no-charts", "--speeds", speed,
                                        "--openings", "100 %", "--uncertain", "8", "--lean-risk", "50 %"});
  for (const char* key : {"verdict", "target", "as_fitted", "best"}) CHECK(jets.contains(key));
  for (const auto& b : jets.at("best"))
    for (const char* key : {"sizes", "error", "lean_margin", "probability_lean"}) CHECK(b.contains(key));
  const auto overlap =
      printed_by(folder, {"overlap", "bikes/goat_400", "--json", "--no-charts", "--openings", points});
  CHECK(overlap.at("points").size() == 2);
  CHECK(overlap.at("effects").size() > 3);
  const auto altitude =
      printed_by(folder, {"altitude", "bikes/goat_400", "--json", "--no-charts", "--altitudes", "0, 2700 m",
                          "--openings", "100 %", "--uncertain", "8"});
  CHECK(altitude.at("points").size() == 2);
  CHECK(altitude.at("equal_power").size() == 2);
}

TEST_CASE("studies: numbers of bikes and risks that cannot be meant are refused", "[cli]") {
  const CaseFolder folder;
  const auto refused = [&](const std::vector<std::string>& arguments, const char* names) {
    const Outcome outcome = run_program(folder, arguments);
    CHECK(outcome.code == 2);
    CHECK(outcome.out.empty());
    CHECK_THAT(outcome.err, Catch::Contains(names));
  };
  refused({"map", "bikes/goat_400", "--json", "--uncertain", "3"}, "--uncertain 3: give 8 to 512 bikes");
  refused({"jets", "bikes/goat_400", "--lean-risk", "0 %"}, "--lean-risk");
  refused({"jets", "bikes/goat_400", "--lean-risk", "2"}, "2 %");
}

}  // namespace glassbowl::sim
