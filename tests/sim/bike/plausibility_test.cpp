#include "sim/bike/plausibility.hpp"

#include <catch2/catch.hpp>

#include "sim/bike/provenance.hpp"
#include "sim/bike/resolved_case.hpp"
#include "sim/cases/find_case.hpp"
#include "tests/sim/cases/case_folder.hpp"
#include "tests/sim/cases/message_of.hpp"

using namespace glassbowl::sim;
using Catch::Matchers::Contains;

namespace {

const std::vector<std::string> ride{"load.kind=held_speed", "load.speed=3000 rpm", "run.duration=1 s"};

/// Warnings of the V-twin with overrides, each on a line.
std::string warnings_with(std::vector<std::string> sets, const char* bike = "mule_750") {
  sets.insert(sets.begin(), ride.begin(), ride.end());
  std::string all;
  for (const auto& warning :
       read_case(shipped_cases() / "bikes" / (std::string(bike) + ".toml"), sets).warnings)
    all += warning + "\n";
  return all;
}

}  // namespace

TEST_CASE("plausibility: shipped cases have no warning but what is true of them", "[sim][cases]") {
  for (const char* bike : {"mule_750", "courier_650", "courier_650_butterfly", "goat_400"}) {
    CAPTURE(bike);
    CHECK(warnings_with({}, bike).empty());
  }
  int runs = 0;
  for (const auto& run : shipped_files("runs")) {
    CAPTURE(run.name);
    const auto warnings = read_case(run.path).warnings;
    ++runs;
    if (run.name == "blip_no_pump") {  // which is what it shows
      REQUIRE(warnings.size() == 1);
      CHECK_THAT(warnings.front(), Contains("there is no accelerator pump"));
    } else {
      CHECK(warnings.empty());
    }
  }
  CHECK(runs >= 16);
}

TEST_CASE("plausibility: what cannot be, or is of another engine, is warned of with what would happen",
          "[sim][cases][anomaly]") {
  struct Row {
    std::vector<std::string> sets;
    const char *said, *consequence;
  };
  const auto row = GENERATE(values<Row>({
      {{"engine.bore=77.5 mm", "engine.intake.diameter=60 mm"},
       "do not fit side by side into a bore of 77.5 mm",
       "too large"},
      {{"engine.intake.count=2", "engine.exhaust.count=2"}, "heads would cover", "too large"},
      {{"engine.intake.diameter=24 mm"}, "outside 0.33 to 0.56 bores", "air is short"},
      {{"engine.exhaust.diameter=20 mm"}, "Heywood 1988, table 6.1", "burned gas stays"},
      {{"engine.combustion.advance=45 deg"}, "45 deg before top dead centre at 1,000 rpm", "kicks back"},
      {{"engine.combustion.advance=[[\"1000 rpm\", \"10 deg\"], [\"4000 rpm\", \"55 deg\"]]"},
       "up to 55 deg",
       "knock"},
      {{"engine.compression_ratio=14:1"}, "14 is outside 5.5 to 11", "knock"},
      {{"engine.compression_ratio=4.5"}, "outside 5.5 to 11", "starting"},
      {{"carburetor.main.jet.bore=0.15 mm"},
       "0.15 mm is outside 0.958 to 3.56 mm, which carburetors for 750 cm3",
       "seizes pistons"},
      {{"carburetor.main.jet.bore=4 mm"}, "4 mm is outside", "fouls plugs"},
      {{"carburetor.slow.jet.bore=0.15 mm"}, "0.15 mm is outside 0.25 to 1 mm", "lean at idle"},
      {{"carburetor.throttle.bore=18 mm", "carburetor.venturi.diameter=15 mm", "carburetor.ports.position=[]",
        "carburetor.ports.diameter=[]"},
       "18 mm is outside",
       "air is short"},
      {{"engine.stroke=30 mm"}, "bores", "another engine"},
      {{"engine.rod=260 mm"}, "strokes", "another engine"},
      {{"runner.diameter=15 mm"}, "intake valve heads", "air is short"},
      {{"float.level=3.5 mm"}, "below the nozzle lip", "floods"},
      {{"carburetor.main.lip=28 mm"}, "below the nozzle lip", "begins late"},
      {{"carburetor.ports.position=[]", "carburetor.ports.diameter=[]"},
       "there are no transfer ports",
       "misfire from about 3 to 15 % throttle"},
      // A bore scaled up under the same ports.
      {{"carburetor.throttle.bore=48 mm", "carburetor.venturi.diameter=40 mm"},
       "past 1 of 4 transfer ports",
       "few"},
      {{"carburetor.throttle.idle_stop=26 deg"}, "past 4 of 4 transfer ports", "stumble off idle"},
      {{"carburetor.ports.position=[\"9 mm\", \"10 mm\"]",
        "carburetor.ports.diameter=[\"0.6 mm\", \"0.6 mm\"]"},
       "reaches the first transfer port at",
       "go lean"},
      {{"carburetor.ports.position=[\"3.9 mm\"]", "carburetor.ports.diameter=[\"0.6 mm\"]"},
       "has passed the last transfer port at",
       "go lean"},
      {{"carburetor.pump.fitted=false"}, "there is no accelerator pump", "snapped open"},
      {{"carburetor.choke.fitted=false"},
       "neither a choke plate nor an enrichment circuit",
       "will not start"},
  }));
  CAPTURE(row.sets);
  CHECK_THAT(warnings_with(row.sets), Contains(row.said) && Contains(row.consequence));
}

TEST_CASE("plausibility: a constant-depression carburetor needs no pump", "[sim][cases]") {
  CHECK_THAT(warnings_with({"carburetor.ports.position=[]", "carburetor.ports.diameter=[]"}, "courier_650"),
             Contains("no transfer ports") && !Contains("pump"));
}

TEST_CASE("provenance: own, borrowed and default values are told apart and counted", "[sim][cases]") {
  const CaseFolder home;
  const auto file =
      home.write("mine.toml",
                 "base = 'bikes/mule_750'\n[carburetor.main.jet]\nbore = '1.5 mm'\n[engine]\n"
                 "compression_ratio = 9.2\nwall_temperature = '150 C'\n[load]\nkind = 'held_speed'\n"
                 "speed = '3000 RPM'\n[run]\nduration = '1 s'\n");
  const ResolvedCase mine = read_case(file, {"float.level=-3 mm"});
  const Provenance p = provenance_of(mine);
  CHECK(p.own == 4);  // the ride is none of the machine's values
  CHECK(p.overrides == 1);
  REQUIRE(p.borrowed.size() == 2);
  CHECK(p.borrowed[0].first == "carburetors/butterfly_36.toml");
  CHECK(p.borrowed[1].first == "engines/v_twin_750.toml");
  CHECK(p.borrowed_in_all() > 50);
  CHECK(p.defaults > 50);
  CHECK_THAT(provenance_text(mine),
             Contains("4 of its own (1 by --set)") && Contains("from engines/v_twin_750.toml"));

  SECTION("a resolved case that is read again still knows") {
    CHECK(provenance_text(read_case_text(mine.text, "trace")) == provenance_text(mine));
    CHECK(provenance_text(read_case(home.write("kept.toml", mine.text))) == provenance_text(mine));
    CHECK(provenance_of(read_case_text(mine.text, "trace", {"engine.rod=130 mm"})).own == 5);
  }
  SECTION("a case that builds on a demonstration is no demonstration itself") {
    CHECK_FALSE(mine.invented);
    CHECK_THAT(mine.text, Contains("invented = false"));
    CHECK(read_case(shipped_cases() / "runs" / "warm_idle.toml").invented);
    CHECK(read_case(file, {"invented=true"}).invented);
    CHECK(read_case_text(read_case(shipped_cases() / "runs" / "blip.toml").text, "trace").invented);
  }
  SECTION("parts that are not fitted, and faults, are not counted") {
    const auto without = provenance_of(read_case(file, {"carburetor.pump.fitted=false"}));
    CHECK(without.defaults < p.defaults);
    for (const Origin& origin : mine.origins)
      if (origin.path == "carburetor.main.jet.wear" || origin.path.starts_with("carburetor.piston."))
        CHECK_FALSE(describes_machine(origin, mine.bike));
  }
}

TEST_CASE("provenance: a base without anything of a case is refused, and nothing of it is shown",
          "[sim][cases][anomaly]") {
  const CaseFolder home;
  home.write("credentials.toml", "token = 'TOPSECRET'\n[registry]\nname = 'TOPSECRET'\n");
  const auto file = home.write("run.toml", "base = 'credentials'\n");
  std::string message;
  try {
    read_case(file);
  } catch (const Error& failure) {
    message = failure.what();
  }
  CHECK_THAT(message,
             Contains("credentials.toml: this is no case") && !Contains("TOPSECRET") && !Contains("token"));
}

TEST_CASE("case: a title is one line that steers nothing", "[sim][cases][anomaly]") {
  std::vector<std::string> sets = ride;
  sets.push_back("title=\"a\\nb \\u009B \\u202E \\u001B[2J\"");
  CHECK(read_case(shipped_cases() / "bikes" / "mule_750.toml", sets).title == "a b      [2J");
}
