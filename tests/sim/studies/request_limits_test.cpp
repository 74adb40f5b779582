#include "sim/studies/request_limits.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <functional>
#include <limits>
#include <nlohmann/json.hpp>

#include "sim/api/error.hpp"
#include "tests/sim/cases/message_of.hpp"
#include "tests/sim/studies/study_bike.hpp"

namespace glassbowl::sim {
namespace {

std::vector<double> many(std::size_t count, double from, double to) {
  std::vector<double> out;
  for (std::size_t i = 0; i < count; ++i)
    out.push_back(from + (to - from) * static_cast<double>(i) / static_cast<double>(count));
  return out;
}

}  // namespace

TEST_CASE("request limits: what is beyond them is refused, by its name and what is allowed",
          "[sim][studies]") {
  const ResolvedCase resolved = bike("goat_400");
  using Change = std::function<void(StudyRequest&)>;
  const auto refusal = [&](const Change& change) {
    StudyRequest r;
    r.study = "map";
    r.speeds = {from_per_minute(2500.0), from_per_minute(4000.0)};
    r.openings = {0.05, 1.0};
    change(r);
    return message_of([&] { check_request(r, resolved); });
  };
  using Catch::Contains;
  CHECK(refusal([](auto&) {}) == "(no error)");
  CHECK_THAT(refusal([](auto& r) {
               r.speeds = {0.0, 1e-300};
             }),
             Contains("--speeds") && Contains("outside 200 rpm to 16000 rpm"));
  CHECK_THAT(refusal([](auto& r) { r.openings = {-5.0, 1.0}; }), Contains("--openings: -500 % is outside"));
  CHECK_THAT(refusal([](auto& r) { r.openings = {1e10}; }), Contains("--openings"));
  CHECK_THAT(refusal([](auto& r) { r.altitudes = {NAN}; }), Contains("--altitudes"));
  CHECK_THAT(refusal([](auto& r) { r.warmer = {std::numeric_limits<double>::infinity()}; }),
             Contains("--warmer"));
  CHECK_THAT(refusal([](auto& r) { r.openings = {0.5, 0.5}; }), Contains("must rise"));
  CHECK_THAT(refusal([](auto& r) { r.openings = many(201, 0.0, 1.0); }), Contains("201 values"));
  CHECK_THAT(refusal([](auto& r) {
               r.speeds = many(150, 100.0, 600.0);
               r.openings = many(150, 0.0, 1.0);
             }),
             Contains("22500 points; at most 20000"));
  CHECK_THAT(refusal([](auto& r) { r.tries["wishbone"] = {1e-3}; }), Contains("wishbone"));
  CHECK_THAT(refusal([](auto& r) { r.tries["main_jet"] = {9e-3}; }),
             Contains("--try main_jet: 9 mm is outside 0.1 mm to 6 mm"));
  CHECK_THAT(refusal([](auto& r) { r.targets["top"] = 0.9; }), Contains("small, part and full"));
  CHECK_THAT(refusal([](auto& r) { r.targets["full"] = 14.7; }), Contains("--target full"));
  CHECK_THAT(refusal([](auto& r) { r.variants.assign(65, {"x", {}}); }), Contains("65 are given"));
  CHECK_THAT(refusal([](auto& r) { r.variants = {{std::string(201, 'x'), {}}}; }), Contains("--variant"));
  CHECK_THAT(refusal([](auto& r) {
               r.variants = {{"x", {"carburetor.pum.fitted=false"}}};
             }),
             Contains("pum"));
  CHECK_THAT(refusal([](auto& r) { r.change = {"engine.borre=80 mm"}; }), Contains("borre"));
  CHECK_THAT(refusal([](auto& r) { r.beside = "x = ["; }), !Contains("(no error)"));
  for (const PointAccuracy wrong : {PointAccuracy{1e-300, 3, 300}, PointAccuracy{NAN, 3, 300},
                                    PointAccuracy{1e-3, 0, 300}, PointAccuracy{1e-3, 3, 1'000'000}})
    CHECK_THAT(refusal([&](auto& r) { r.accuracy = wrong; }), Contains("accuracy"));
}

TEST_CASE("request limits: numbers of a file that fit no counter are refused, not wrapped",
          "[sim][studies]") {
  StudyRequest r;
  r.study = "map";
  for (const double count : {1e300, -1e300, 4294967299.0}) {
    auto json = nlohmann::json::parse(request_json(r));
    json["most_cycles"] = count;
    const StudyRequest back = request_from_json(json.dump());
    CHECK_THROWS_AS(check_request(back, bike("goat_400")), Error);
  }
}

}  // namespace glassbowl::sim
