#include "sim/bike/uncertain_value.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "sim/cases/key_units.hpp"
#include "sim/cases/quantity.hpp"
#include "sim/cases/usual_spread.hpp"
#include "tests/sim/cases/message_of.hpp"

using namespace glassbowl::sim;
using Catch::Matchers::Contains;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

ResolvedCase mule(const std::string& keys = "", const std::vector<std::string>& sets = {}) {
  return read_case_text(
      "base = \"bikes/mule_750\"\nload.kind = \"held_speed\"\nload.speed = \"3000 rpm\"\n"
      "run.duration = \"1 s\"\n" +
          keys,
      "mine", sets);
}

const UncertainValue* find(const std::vector<UncertainValue>& all, std::string_view path) {
  for (const auto& v : all)
    if (v.path() == path) return &v;
  return nullptr;
}

Declaration length_key(Range range) {
  Declaration key;
  key.path = "a.length";
  key.unit = "mm";
  key.range = range;
  return key;
}

/// One length [mm] drawn at some deviation.
double drawn(double value, double half, Range range, double deviation) {
  const UncertainValue v("a.length", "", "", {half * 1e-3, false, ""}, length_key(range));
  return v.moved(value * 1e-3, {half * 1e-3, false, ""}, deviation) * 1e3;
}

constexpr double limit = 1.959963984540054;  // standard deviations, of a 95 % range

}  // namespace

TEST_CASE("uncertain value: limits are read in the value's unit, as a share, and with one unit behind both",
          "[sim][cases]") {
  struct Given {
    const char* text;
    const char* unit;
    double si, half;
    bool relative;
  };
  const auto g = GENERATE(values<Given>({
      {"45 cm3 ± 10 cm3", "cm3", 45e-6, 10e-6, false},
      {"45 cm3 +- 10 cm3", "cm3", 45e-6, 10e-6, false},
      {"45 cm3+/-10 ml", "cm3", 45e-6, 10e-6, false},
      {"45 ± 10 cm3", "cm3", 45e-6, 10e-6, false},
      {"45 cm3 ± 10", "cm3", 45e-6, 10e-6, false},
      {"45 cm3 ± 20 %", "cm3", 45e-6, 0.2, true},
      {"1/8 in ± 0.1 mm", "mm", 3.175e-3, 0.1e-3, false},
      {"30 % ± 5 %", "%", 0.3, 0.05, false},
      {"0.65 ± 0.05", "1", 0.65, 0.05, false},
      {"0.65 ± 5 %", "1", 0.65, 0.05, true},
      {"150 degC ± 20 K", "degC", 423.15, 20.0, false},
      {"150 degC ± 20 degC", "degC", 423.15, 20.0, false},
      {"150 degC ± 36 degF", "degC", 423.15, 20.0, false},
      {"-4 mm ± 0.7 mm", "mm", -4e-3, 0.7e-3, false},
      {"8.5:1 ± 0.2", "1", 8.5, 0.2, false},
  }));
  CAPTURE(g.text);
  const LimitedReading read = read_limited_quantity(g.text, g.unit);
  CHECK(read.value.wrong == "");
  CHECK_THAT(read.value.si, WithinRel(g.si, 1e-12));
  REQUIRE(read.limits);
  CHECK_THAT(read.limits->half_width, WithinRel(g.half, 1e-9));
  CHECK(read.limits->relative == g.relative);
}

TEST_CASE("uncertain value: limits that cannot be meant are refused with what would do", "[sim][cases]") {
  CHECK_THAT(read_limited_quantity("45 cm3 ± 10 mm", "cm3").value.wrong, Contains("has limits, \"10 mm\""));
  CHECK_THAT(read_limited_quantity("45 cm3 ± -1 cm3", "cm3").value.wrong, Contains("negative"));
  CHECK_THAT(read_limited_quantity("45 cm3 ±", "cm3").value.wrong, Contains("limits"));
  CHECK_THAT(read_limited_quantity("45 cm3 ± x", "cm3").value.remedy, Contains("45 cm3 ± 5 %"));
  // Where a list of the command line asks for a plain quantity, limits are no part of it.
  CHECK_FALSE(read_quantity("45 cm3 ± 10 cm3", "cm3").wrong.empty());
  CHECK_THAT(message_of([] { mule("float.level = \"3 mm ± 2 kg\"\n"); }),
             Contains("level") && Contains("2 kg"));
}

TEST_CASE("uncertain value: a resolved case keeps limits as given and reads again", "[sim][cases]") {
  const ResolvedCase first = mule("carburetor.main.jet.bore = \"1.60 mm ± 0.05 mm\"\n");
  CHECK_THAT(first.text, Contains("bore = \"1.60 mm ± 0.05 mm\""));
  const ResolvedCase again = read_case_text(first.text, "again");
  CHECK(again.bike.carburetor.main.main_jet.bore == first.bike.carburetor.main.main_jet.bore);
  const Spread spread = spread_of(again, "carburetor.main.jet.bore");
  CHECK_THAT(spread.half_width, WithinRel(0.05e-3, 1e-12));
  CHECK(spread.reason == "given");
  CHECK(spread_text(again, "carburetor.main.jet.bore") == "± 0.05 mm (given)");
  CHECK(again.text == first.text);
}

TEST_CASE("uncertain value: each kind has its usual spread, and a default is known half as well",
          "[sim][cases]") {
  const ResolvedCase resolved = mule("inlet.filter_area = \"700 mm2\"\n");
  CHECK_THAT(spread_of(resolved, "carburetor.main.jet.bore").half_width, WithinAbs(0.015, 1e-12));
  CHECK(spread_of(resolved, "carburetor.main.jet.bore").reason == usual::drilled_jet().reason);
  CHECK_THAT(spread_of(resolved, "inlet.filter_area").half_width, WithinAbs(0.30, 1e-12));
  CHECK_THAT(spread_of(resolved, "engine.inertia").half_width, WithinAbs(0.25, 1e-12));
  CHECK_THAT(spread_of(resolved, "manifold.volume").half_width, WithinAbs(0.15, 1e-12));
  const ResolvedCase defaults = read_case_text(resolved.text, "again");
  for (const Origin& origin : defaults.origins) {
    if (origin.path != "carburetor.screw.discharge") continue;
    const bool is_default = origin.kind == Origin::Kind::fallback;
    CHECK_THAT(origin.spread.half_width, WithinAbs(is_default ? 0.16 : 0.08, 1e-12));
  }
  CHECK(spread_text(resolved, "carburetor.main.jet.bore") == "± 1.5 % (a drilled jet)");
  CHECK(spread_text(resolved, "run.step") == "exact");
  CHECK_THAT(spreads_text(resolved), Contains("inlet.filter_area = \"700 mm2\"  ± 30 %"));
  CHECK_THROWS_AS(spread_of(resolved, "no.such.key"), std::invalid_argument);
}

TEST_CASE("uncertain value: a draw is normal, and keeps its 95 % limits", "[sim][cases]") {
  CHECK_THAT(drawn(10, 1, {0, 100}, limit), WithinRel(11.0, 1e-12));
  CHECK_THAT(drawn(10, 1, {0, 100}, -limit), WithinRel(9.0, 1e-12));
  CHECK_THAT(drawn(10, 1, {0, 100}, 0), WithinRel(10.0, 1e-12));
}

TEST_CASE("uncertain value: near a bound of its key a draw is log-normal and stays inside", "[sim][cases]") {
  // Lower bound: the upper limit is as asked for, the lower one by the same factor.
  CHECK_THAT(drawn(1, 0.8, {0, 100}, limit), WithinRel(1.8, 1e-12));
  CHECK_THAT(drawn(1, 0.8, {0, 100}, -limit), WithinRel(1.0 / 1.8, 1e-12));
  // Upper bound: mirrored.
  CHECK_THAT(drawn(99, 0.8, {0, 100}, -limit), WithinRel(98.2, 1e-12));
  CHECK(drawn(99, 0.8, {0, 100}, 6.0) < 100.0);
  // Both.
  CHECK_THAT(drawn(0.5, 0.4, {0, 1}, 0.0), WithinRel(0.5, 1e-12));
  for (const double z : {-6.0, -2.0, 2.0, 6.0}) {
    CHECK(drawn(0.5, 0.4, {0, 1}, z) > 0.0);
    CHECK(drawn(0.5, 0.4, {0, 1}, z) < 1.0);
  }
  // On the bound itself: to the other side only.
  CHECK_THAT(drawn(0, 1, {0, 100}, -limit), WithinRel(1.0, 1e-12));
}

TEST_CASE("uncertain value: what counts in a steady cycle is drawn, and the rest left alone",
          "[sim][cases]") {
  const auto all =
      uncertain_values(mule("carburetor.ports.diameter = [\"0.8 mm ± 0.1 mm\", \"1 mm\", \"1.1 mm\"]\n"
                            "carburetor.ports.position = [\"3 mm\", \"5 mm\", \"7 mm\"]\n"));
  CHECK(all.size() > 30);
  CHECK(find(all, "carburetor.main.jet.bore") != nullptr);
  CHECK(find(all, "carburetor.main.jet.flow_rating") == nullptr);
  CHECK(find(all, "load.speed") == nullptr);
  CHECK(find(all, "air.temperature") == nullptr);
  CHECK(find(all, "run.step") == nullptr);
  // A list moves together; an entry without limits beside one with them is exact.
  const auto* ports = find(all, "carburetor.ports.diameter");
  REQUIRE(ports != nullptr);
  const ResolvedCase moved = mule(
      "carburetor.ports.diameter = [\"0.8 mm\", \"1 mm\", \"1.1 mm\"]\n"
      "carburetor.ports.position = [\"3 mm\", \"5 mm\", \"7 mm\"]\n",
      {ports->drawn(limit)});
  CHECK_THAT(moved.bike.carburetor.ports[0].diameter, WithinRel(0.9e-3, 1e-9));
  CHECK_THAT(moved.bike.carburetor.ports[1].diameter, WithinRel(1e-3, 1e-12));
  // A jet by its flow: the flow is drawn, and the bore follows.
  const std::string by_flow = "carburetor.main.jet.flow_rating = \"420 cm3/min ± 4 %\"\n";
  const ResolvedCase rated = mule(by_flow);
  const auto of_rated = uncertain_values(rated);
  CHECK(find(of_rated, "carburetor.main.jet.bore") == nullptr);
  const auto* flow = find(of_rated, "carburetor.main.jet.flow_rating");
  REQUIRE(flow != nullptr);
  const ResolvedCase wider = read_case_text(rated.text, "wider", {flow->drawn(limit)});
  const double ratio = wider.bike.carburetor.main.main_jet.bore / rated.bike.carburetor.main.main_jet.bore;
  CHECK(ratio > 1.015);
  CHECK(ratio < 1.025);
}

TEST_CASE("uncertain value: a needle's second column has limits, its first none", "[sim][cases]") {
  const std::string base =
      "base = \"bikes/courier_650\"\nload.kind = \"held_speed\"\nload.speed = \"3000 rpm\"\nrun.duration = "
      "\"1 "
      "s\"\n";
  const ResolvedCase resolved = read_case_text(base, "mine");
  const auto* needle = [&]() -> const UncertainValue* {
    static std::vector<UncertainValue> all;
    all = uncertain_values(resolved);
    return find(all, "carburetor.needle.diameter");
  }();
  REQUIRE(needle != nullptr);
  const ResolvedCase moved = read_case_text(base, "mine", {needle->drawn(-2.0 * limit)});
  const auto &a = resolved.bike.carburetor.needle.diameter.points(),
             &b = moved.bike.carburetor.needle.diameter.points();
  REQUIRE(a.size() == b.size());
  for (std::size_t i = 0; i < a.size(); ++i) {
    CHECK(b[i].first == a[i].first);
    CHECK(b[i].second < a[i].second);  // a thinner needle goes into its jet in any case
  }
  CHECK_THAT(
      message_of([&] {
        read_case_text(
            base + "carburetor.needle.diameter = [[\"0 mm ± 1 mm\", \"2.4 mm\"], [\"36 mm\", \"1.8 mm\"]]\n",
            "mine");
      }),
      Contains("first column"));
}
