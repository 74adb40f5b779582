#include "sim/bike/estimates.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <set>

#include "sim/api/error.hpp"
#include "sim/bike/other_measures.hpp"
#include "sim/bike/provenance.hpp"
#include "sim/cases/estimate_note.hpp"
#include "sim/cases/layers.hpp"
#include "sim/report/case_values.hpp"
#include "tests/sim/cases/case_folder.hpp"
#include "tests/sim/cases/message_of.hpp"

namespace glassbowl::sim {
namespace {

const std::vector<std::string> ride{"load.kind=held_speed", "load.speed=3000 rpm", "run.duration=1 s"};

const char* const little = R"(
estimate = true
[engine]
displacement = "650 cm3"
cylinders = 2
[carburetor.throttle]
bore = "36 mm"
)";

std::vector<std::string> with(const std::vector<std::string>& more) {
  auto out = ride;
  out.insert(out.end(), more.begin(), more.end());
  return out;
}

const Origin& origin_of(const ResolvedCase& resolved, const std::string& path) {
  for (const auto& origin : resolved.origins)
    if (origin.path == path) return origin;
  throw std::logic_error(path);
}

}  // namespace

TEST_CASE("estimates: displacement, cylinders and a carburetor bore are enough for a whole case",
          "[sim][cases]") {
  const ResolvedCase bike = read_case_text(little, "little", ride);
  const auto& e = bike.bike.engine;
  CHECK(m::displacement(e.crank) * 2.0 == Approx(650e-6).epsilon(0.005));
  CHECK(e.firing == std::vector<double>{0.0, 2.0 * m::constants::pi});
  CHECK(e.intake.diameter / e.crank.bore == Approx(0.49).epsilon(0.01));
  CHECK(bike.bike.carburetor.venturi.diameter == Approx(0.82 * 0.036).epsilon(0.001));
  CHECK(provenance_of(bike).own == 3);
  CHECK(provenance_of(bike).borrowed_in_all() == 0);
  CHECK(provenance_of(bike).estimated > 40);
}

TEST_CASE("estimates: a size given with its limits counts as one given without", "[sim][cases]") {
  const ResolvedCase plain = read_case_text(little, "little", ride);
  const ResolvedCase limited = read_case_text(
      little, "little",
      with({"engine.displacement=650 cm3 ± 5 cm3", "carburetor.throttle.bore=36 mm ± 0.2 mm"}));
  for (const char* path : {"engine.bore", "engine.intake.diameter", "carburetor.venturi.diameter"}) {
    INFO(path);
    CHECK(origin_of(limited, path).kind == Origin::Kind::estimated);
    CHECK(origin_of(limited, path).value == origin_of(plain, path).value);
  }
}

TEST_CASE("estimates: each is noted with its rule and spread, which the resolved case keeps",
          "[sim][cases]") {
  const ResolvedCase bike = read_case_text(little, "little", ride);
  const ResolvedCase again = read_case_text(bike.text, "again");
  CHECK(again.text == bike.text);
  for (const char* path :
       {"engine.rod", "float.level", "engine.wall_temperature", "engine.intake.opens_before_top"}) {
    INFO(path);
    const Origin &first = origin_of(bike, path), &second = origin_of(again, path);
    CHECK(first.kind == Origin::Kind::estimated);
    CHECK(second.kind == Origin::Kind::estimated);
    CHECK(first.spread.half_width > 0.0);
    CHECK(second.spread.half_width == Approx(first.spread.half_width).epsilon(1e-3));
    CHECK(second.spread.relative == first.spread.relative);
    CHECK(second.source == first.source);
  }
  CHECK(provenance_text(again) == provenance_text(bike));
}

TEST_CASE("estimates: what is given nearer is never replaced, and other estimates follow it",
          "[sim][cases]") {
  const ResolvedCase bike = read_case_text(
      little, "little", with({"engine.intake.diameter=42 mm", "carburetor.main.jet.bore=1.20 mm"}));
  CHECK(bike.bike.engine.intake.diameter == Approx(0.042));
  CHECK(bike.bike.engine.exhaust.diameter == Approx(0.87 * 0.042).epsilon(0.001));
  CHECK(bike.bike.carburetor.main.air_jet.bore == Approx(1.08 * 1.20e-3).epsilon(0.001));
  CHECK(origin_of(bike, "engine.intake.diameter").kind == Origin::Kind::own);
}

TEST_CASE("estimates: a case that does not ask for them keeps defaults, and one that lacks sizes is refused",
          "[sim][cases]") {
  const auto file = shipped_cases() / "bikes" / "mule_750.toml";
  const ResolvedCase bike = read_case(file, ride);
  for (const auto& origin : bike.origins) {
    INFO(origin.path);
    CHECK(origin.kind != Origin::Kind::estimated);
  }
  CHECK(bike.bike.carburetor.slow.height == Approx(0.012));
  CHECK_THAT(message_of([] { read_case_text("[engine]\nbore = \"70 mm\"\n", "bare", ride); }),
             Catch::Contains("[engine] rod is missing"));
}

TEST_CASE("estimates: with a base only what it does not give is estimated", "[sim][cases]") {
  const ResolvedCase bike = read_case_text("base = \"bikes/mule_750.toml\"\nestimate = true\n", "mine", ride);
  CHECK(bike.bike.engine.crank.rod == Approx(0.132));
  CHECK(origin_of(bike, "engine.rod").kind == Origin::Kind::borrowed);
  CHECK(origin_of(bike, "carburetor.throttle.idle_stop").kind == Origin::Kind::borrowed);
  CHECK(origin_of(bike, "inlet.diameter").kind == Origin::Kind::estimated);
}

TEST_CASE("estimates: every rule names a key that is declared, once", "[sim][cases]") {
  for (const char* kind : {"fixed_venturi", "constant_depression"}) {
    const Layers layers = Layers::parse(little, "little", {std::string("carburetor.kind=") + kind});
    KnownValues known(layers);
    std::set<std::string> seen;
    for (const Estimate& e : estimate_missing(known)) {
      INFO(e.path);
      CHECK(find_declared(e.path) != nullptr);
      CHECK(seen.insert(e.path).second);
      CHECK_FALSE(e.spread.reason.empty());
    }
  }
}

TEST_CASE("estimates: a constant-depression carburetor gets a needle that thins as its piston rises",
          "[sim][cases]") {
  const ResolvedCase bike =
      read_case_text(little, "little",
                     with({"carburetor.kind=constant_depression", "carburetor.needle.jet_diameter=2.6 mm"}));
  const auto& c = bike.bike.carburetor;
  double last = INFINITY;
  for (double lift = 0.0; lift <= c.piston.travel; lift += 1e-3) {
    CHECK(c.needle.diameter(lift) <= last);
    last = c.needle.diameter(lift);
  }
  // The annulus over the opened throat is the ratio of two orifices on one depression: 12.5 kg of air per kg.
  const double annulus = circle(2.6e-3) - circle(c.needle.diameter(0.3 * c.piston.travel));
  CHECK(annulus > 0.0);
}

TEST_CASE("other measures: pump volume, feeler, filter paper and outlet bore stand for the model's sizes",
          "[sim][cases]") {
  const ResolvedCase bike = read_case_text(
      little, "little",
      with({"carburetor.pump.volume=1 cm3", "carburetor.throttle.idle_gap=0.10 mm",
            "inlet.filter_paper=900 cm2", "silencer.outlet_bore=30 mm", "silencer.outlets=2"}));
  const auto& c = bike.bike.carburetor;
  CHECK(c.pump.stroke * circle(c.pump.diaphragm_diameter) == Approx(1e-6));
  CHECK(m::throttle_edge_gap(c.throttle, c.idle_stop) == Approx(0.1e-3));
  CHECK(bike.bike.path.silencer_area == Approx(2.0 * 0.7 * circle(0.030)));
  // Darcy: half of the medium doubles its loss, so the opening falls by the root of two.
  const double half = filter_opening(0.045, "paper", 650e-6, 0.08),
               whole = filter_opening(0.09, "paper", 650e-6, 0.08);
  CHECK(whole / half == Approx(std::sqrt(2.0)));
  CHECK(origin_of(bike, "carburetor.pump.stroke").kind == Origin::Kind::own);
  CHECK(read_case_text(bike.text, "again").text == bike.text);

  SECTION("a base's size gives way to what the case measured in another way") {
    const ResolvedCase mule = read_case_text(
        "base = \"bikes/mule_750.toml\"\n[carburetor.pump]\nvolume = \"0.5 cm3\"\n", "mine", ride);
    CHECK(mule.bike.carburetor.pump.stroke * circle(mule.bike.carburetor.pump.diaphragm_diameter) ==
          Approx(0.5e-6));
    const ResolvedCase later = read_case_text(mule.text, "later", {"carburetor.pump.stroke=1 mm"});
    CHECK(later.bike.carburetor.pump.stroke == Approx(1e-3));
    CHECK(read_case_text(later.text, "again").bike.carburetor.pump.stroke == Approx(1e-3));
  }
  SECTION("two ways of saying it in one place must agree") {
    const auto both = [] {
      read_case_text(
          "base = \"bikes/mule_750.toml\"\n[carburetor.pump]\nvolume = \"0.5 cm3\"\nstroke = \"3 mm\"\n",
          "mine", ride);
    };
    CHECK_THAT(message_of(both),
               Catch::Contains("volume = \"0.5 cm3\"") && Catch::Contains("give one of them"));
  }
}

TEST_CASE("estimates: bore and stroke that contradict the displacement are refused with the figure",
          "[sim][cases]") {
  const auto wrong = [] {
    read_case_text(little, "little", with({"engine.bore=80 mm", "engine.stroke=80 mm"}));
  };
  CHECK_THAT(message_of(wrong), Catch::Contains("make 804 cm3"));
}

TEST_CASE("targets: an idle speed beside an idle stop in one place is refused, and a nearer stop counts",
          "[sim][cases]") {
  const auto both = [] {
    read_case_text(
        "base = \"bikes/mule_750.toml\"\nidle_speed = \"1000 rpm\"\n[carburetor.throttle]\nidle_stop = \"10 "
        "deg\"\n",
        "mine", ride);
  };
  CHECK_THAT(message_of(both), Catch::Contains("give one of idle_speed and carburetor.throttle.idle_stop"));
  const ResolvedCase asked =
      read_case_text("base = \"bikes/mule_750.toml\"\nidle_speed = \"1000 rpm\"\n", "mine", ride);
  CHECK(asked.open.idle_speed == Approx(1000.0 * m::constants::pi / 30.0));
  const ResolvedCase set = read_case_text("base = \"bikes/mule_750.toml\"\nidle_speed = \"1000 rpm\"\n",
                                          "mine", with({"carburetor.throttle.idle_stop=10.4 deg"}));
  CHECK_FALSE(set.open.any());
  CHECK_FALSE(read_case_text(set.text, "again").open.any());
}

TEST_CASE("estimates: a note of width and rule is read as it was written", "[sim][cases]") {
  for (const auto& [spread, unit] : {std::pair{Spread{0.12, true, ""}, "mm"},
                                     {Spread{2e-3, false, ""}, "mm"},
                                     {Spread{15.0, false, ""}, "degC"},
                                     {Spread{0.8, false, ""}, "1"},
                                     {Spread{}, "mm"}}) {
    const auto read = read_estimate_note(estimate_note(spread, unit, "a rule: of (two)"), unit);
    REQUIRE(read);
    CHECK(read->spread.half_width == Approx(spread.half_width).epsilon(1e-3));
    CHECK((spread.half_width == 0.0 || read->spread.relative == spread.relative));
    CHECK(read->rule == "a rule: of (two)");
  }
  CHECK_FALSE(read_estimate_note("own, bike.toml", "mm"));
}

}  // namespace glassbowl::sim
