#include <catch2/catch.hpp>

#include "tests/cli/program.hpp"

/// What people type, and what the program makes of it: forms that it takes, and the message that each other
/// form gets.
namespace glassbowl::sim {
namespace {

const char* const ride = R"(
base = "bikes/mule_750"
[load]
kind = "held_speed"
speed = "3000 rpm"
[run]
duration = "0.1 s"
)";

struct Form {
  std::vector<std::string> sets;
  const char* said;  ///< in the resolved case, or in the message
};

}  // namespace

TEST_CASE("input: forms in which workshops write sizes are taken", "[cli]") {
  const CaseFolder folder;
  folder.write("mine.toml", ride);
  const auto form = GENERATE(values<Form>({
      {{"load.speed=3000 RPM"}, "speed = \"3000 RPM\""},
      {{"load.speed=3000 Rpm"}, "speed = \"3000 Rpm\""},
      {{"load.speed=3000 U/min"}, "speed = \"3000 U/min\""},
      {{"load.speed=3000 r/min"}, "speed = \"3000 r/min\""},
      {{"load.speed=3000 1/min"}, "speed = \"3000 1/min\""},
      {{"load.speed=50 Hz"}, "speed = \"50 Hz\""},
      {{"load.speed=[[\"0 s\", \"2000 RPM\"], [\"1 s\", \"50 Hz\"]]"}, "2000 RPM"},
      {{"engine.compression_ratio=8.5:1"}, "compression_ratio = \"8.5:1\""},
      {{"engine.compression_ratio=8.5 : 1"}, "compression_ratio = \"8.5 : 1\""},
      {{"engine.compression_ratio=17:2"}, "compression_ratio = \"17:2\""},
      {{"load.overall_ratio=45:7"}, "overall_ratio = \"45:7\""},
      {{"engine.bore=3 1/4 in"}, "bore = \"3 1/4 in\""},
      {{"runner.diameter=1 3/8 in"}, "diameter = \"1 3/8 in\""},
      {{"carburetor.main.foot=-15/16 in"}, "foot = \"-15/16 in\""},
      {{"carburetor.main.riser_diameter=3/32 in"}, "riser_diameter = \"3/32 in\""},
      {{"carburetor.main.riser_diameter=3/32\""}, "riser_diameter = \"3/32\\\"\""},
      {{"carburetor.screw.turns=2 1/2"}, "turns = \"2 1/2\""},
      {{"air.temperature=20 C"}, "temperature = \"20 C\""},
      {{"air.temperature=68 F"}, "temperature = \"68 F\""},
      {{"air.temperature=20 \u00b0C"}, "temperature = \"20 \u00b0C\""},
      {{"air.temperature=68 \u00b0F"}, "temperature = \"68 \u00b0F\""},
      {{"air.temperature=20 deg C"}, "temperature = \"20 deg C\""},
      {{"air.temperature=20degC"}, "temperature = \"20degC\""},
      {{"air.temperature=293 K"}, "temperature = \"293 K\""},
      {{"engine.wall_temperature=300 F"}, "wall_temperature = \"300 F\""},
      {{"air.altitude=4000 ft"}, "altitude = \"4000 ft\""},
      {{"air.humidity=50 %"}, "humidity = \"50 %\""},
      {{"carburetor.main.jet.bore=65 thou"}, "bore = \"65 thou\""},
      {{"carburetor.main.jet.flow_rating=300 cc/min", "float.level=-3 mm"}, "flow_rating = \"300 cc/min\""},
      {{"supply.fuel_volume=2 US_liquid_gallon"}, "US_liquid_gallon"},
      {{"float.level=-1/8 in"}, "level = \"-1/8 in\""},
      {{"float.height=20 mm", "float.height_at_datum=15 mm"}, "level = \"-0.005000000000000001 m\""},
  }));
  std::vector<std::string> arguments{"check", "mine.toml", "--no-computation"};
  for (const auto& set : form.sets) arguments.insert(arguments.end(), {"--set", set});
  CAPTURE(form.sets);
  const auto result = run_program(folder, arguments);
  INFO(result.err);
  CHECK(result.code == 0);
  CHECK_THAT(result.out, Catch::Contains(form.said));
}

TEST_CASE("input: every other form gets a message that says what would do", "[cli]") {
  const CaseFolder folder;
  folder.write("mine.toml", ride);
  const auto form = GENERATE(values<Form>({
      {{"load.speed=3000"}, "this has no unit; an angular speed is needed, such as \""},
      {{"load.speed=3000 upm"}, "has a unit that is not known, \"upm\""},
      {{"load.speed=3000 m"}, "is a length; an angular speed is needed"},
      {{"load.speed=3,000 rpm"}, "has a comma where a decimal point belongs"},
      {{"load.speed=fast"}, "does not begin with a number"},
      {{"load.speed=20000 RPM"}, "is above 16000 rpm"},
      {{"engine.compression_ratio=8.5:0"}, "has a fraction over zero"},
      {{"engine.compression_ratio=8:1:2"}, "has a unit that is not known"},
      {{"engine.compression_ratio=20:1"}, "is above 15; give 4 to 15"},
      {{"engine.compression_ratio=8.5 mm"}, "is a length; a pure number is needed"},
      {{"engine.bore=3 1/0 in"}, "has a fraction over zero"},
      {{"engine.bore=3 1/4"}, "has no unit; a length is needed"},
      {{"engine.bore=82"}, "has no unit; a length is needed"},
      {{"engine.bore=3-1/4 in"}, "write a space there: \"3 1/4 in\""},
      {{"engine.bore=82,5 mm"}, "such as \"82.5 mm\""},
      {{"engine.bore=82 C"}, "is a temperature; a length is needed"},
      {{"engine.bore=true"}, "this is true or false; a length is needed"},
      {{"engine.bore="}, "does not begin with a number"},
      {{"engine.bore=nan mm"}, "is not a finite number"},
      {{"engine.bore=1e999 mm"}, "too large or too small"},
      {{"engine.bore=300 mm"}, "is above 130 mm; give 30 mm to 130 mm"},
      {{"air.temperature=20"}, "has no unit; an absolute temperature is needed"},
      {{"air.temperature=20 bar"}, "is a pressure; an absolute temperature is needed"},
      {{"air.temperature=-300 C"}, "is below absolute zero"},
      {{"air.temperature=200 F"}, "is above 55 degC"},
      {{"air.humidity=0.5"}, "has no unit; a fraction is needed, such as \"50 %\""},
      {{"fuel.boiling_linear=20 C"},
       "is a temperature on a scale, not a difference; a temperature difference is needed"},
      {{"rider.throttle=30 deg"}, "is an angle; a fraction or percentage with its unit is needed"},
      {{"carburetor.main.jet.bore=150"}, "has no unit; a length is needed"},
      {{"carburetor.main.jet.bore=150 mm"}, "is above 6 mm; give 0.1 mm to 6 mm"},
      {{"carburetor.main.jet.bor=1.5 mm"}, "did you mean \"bore\"?"},
      {{"carburetor.mian.jet.bore=1.5 mm"}, "did you mean"},
      {{"carburetor.screw.turns=2 1/2 turns"}, "a pure number is needed"},
      {{"carburetor.ports.position=[\"3 mm\"]"}, "do not describe ports; lists of equal length"},
      {{"carburetor.kind=slide"}, "give one of \"fixed_venturi\", \"constant_depression\""},
      {{"carburetor.pump.fitted=yes"}, "give true or false, without quotes"},
      {{"carburetor.venturi.diameter=40 mm"}, "the venturi is not narrower than the bore"},
      {{"carburetor.main.jet.flow_rating=300 cc/min", "carburetor.main.jet.bore=1.2 mm"},
       "but bore says 1.200 mm; give one of them"},
      {{"float.height=20 mm"}, "float.height_at_datum, which is not given"},
      {{"supply.fuel_volume=2 gal"}, "has a unit that is not known, \"gal\"; a volume is needed"},
      {{"runner.cells=2.5"}, "give a whole number from 1 to 64"},
      {{"run.duration"}, "this is not key.path=VALUE"},
      {{"base=bikes/goat_400"}, "base cannot be set"},
  }));
  std::vector<std::string> arguments{"check", "mine.toml", "--no-computation"};
  for (const auto& set : form.sets) arguments.insert(arguments.end(), {"--set", set});
  CAPTURE(form.sets);
  const auto result = run_program(folder, arguments);
  CHECK(result.code == 2);
  CHECK(result.out.empty());
  CHECK_THAT(result.err, Catch::StartsWith("glassbowl: ") && Catch::Contains(form.said));
}

TEST_CASE("input: of two sizes that contradict each other, the one in the user's own case is blamed",
          "[cli]") {
  const CaseFolder folder;
  folder.write("mine.toml", "base = \"bikes/mule_750.toml\"\n[carburetor.throttle]\nbore = \"20 mm\"\n");
  const auto result = run_program(folder, {"check", "mine.toml", "--no-computation"});
  CHECK(result.code == 2);
  CHECK_THAT(result.err, Catch::Contains("mine.toml:3:8: [carburetor.throttle] bore = \"20 mm\"") &&
                             Catch::Contains("carburetor.venturi.diameter = 30 mm") &&
                             !Catch::Contains("butterfly_36.toml"));
}

TEST_CASE("input: a case given for a study, sizes without units and several values get an answer", "[cli]") {
  const CaseFolder folder;
  folder.write("mine.toml", ride);
  folder.write("notes.txt", "no study\n");
  struct Row {
    std::vector<std::string> words;
    const char* said;
  };
  const auto row = GENERATE(values<Row>({
      {{"repeat", "mine.toml"}, "mine.toml: this is a case, not a study; `glassbowl map mine.toml` makes"},
      {{"repeat", "warm_idle"}, "warm_idle: this is a case, not a study"},
      {{"repeat", "bikes/mule_750"}, "this is a case, not a study"},
      {{"repeat", "notes.txt"}, "notes.txt: this is no HDF5 file, not a study"},
      {{"repeat", "none.h5"}, "none.h5: there is no such file"},
      {{"jets", "bikes/mule_750", "--try", "main_jet=150"},
       "such as \"main_jet=1.67 mm\". The number on a jet is no bore by itself"},
      {{"jets", "bikes/mule_750", "--try", "main_jet=1.5"}, "such as \"1.5 mm\""},
      {{"jets", "bikes/mule_750", "--try", "screw=20"}, "20 is outside 0 to 12"},
      {{"jets", "bikes/mule_750", "--target", "full=0.87", "part=3"},
       "this is lambda 3, outside 0.72 to 1.05"},
      {{"jets", "--target", "full=0.87", "part=0.95", "bikes/mule_750", "--openings", "3"},
       "--openings \"3\""},
      {{"jets", "bikes/mule_750", "--target", "full=0.87", "top=0.9"}, "regions are small, part and full"},
      {{"jets", "bikes/mule_750", "--try", "main_jet=1.6 mm", "needle=1 mm"},
       "\"needle\" is nothing to adjust"},
      {{"run", "mine.toml", "--set", "run.duration=1 s", "run.durr=1 s"}, "run.durr"},
      {{"map", "bikes/mule_750", "--speeds", "3000"}, "such as \"3000 rpm\""},
      {{"map", "bikes/mule_750", "--speeds", "99000"}, "such as \"2000, 4000 rpm\""},
  }));
  CAPTURE(row.words);
  const auto result = run_program(folder, row.words);
  CHECK(result.code == 2);
  CHECK_THAT(result.err, Catch::Contains(row.said) && !Catch::Contains("\"150 mm\""));
}

TEST_CASE("input: a bike without a ride can be checked, and what is printed is that bike again", "[cli]") {
  const CaseFolder folder;
  const auto shipped = run_program(folder, {"check", "bikes/mule_750"});
  INFO(shipped.err);
  CHECK(shipped.code == 0);
  CHECK_THAT(shipped.out, Catch::Contains("# No ride is given: this cannot be `run`") &&
                              Catch::Contains("vehicle_mass = \"300 kg\"") &&
                              Catch::Contains("Values of the machine: ") &&
                              Catch::Contains("Measure these first"));
  folder.write("mine.toml", "base = \"bikes/mule_750\"\n[engine]\nbore = \"60 mm\"\n");
  const auto mine = run_program(folder, {"check", "mine.toml", "--no-computation"});
  CHECK(mine.code == 0);
  CHECK_THAT(mine.out, Catch::Contains("# No ride is given") && Catch::Contains("# warning: ") &&
                           Catch::Contains("1 of its own"));
  folder.write("printed.toml", mine.out);
  const auto again = run_program(folder, {"check", "printed.toml", "--no-computation"});
  CHECK(again.code == 0);
  CHECK_THAT(again.out, Catch::Contains("# No ride is given") && Catch::Contains("bore = \"60 mm\""));
  CHECK(run_program(folder, {"run", "printed.toml", "--no-trace"}).code == 2);
  CHECK_THAT(run_program(folder, {"check", "mine.toml", "--set", "engine.bor=60 mm"}).err,
             Catch::Contains("did you mean \"bore\"?") && !Catch::Contains("duration"));
}

TEST_CASE("input: a ride of which a part is missing is refused by check", "[cli]") {
  const CaseFolder folder;
  folder.write("mine.toml", "base = \"bikes/mule_750\"\n");
  const auto part = GENERATE(as<std::string>{}, "load.kind=held_speed", "load.speed=3000 rpm",
                             "run.duration=1 s", "rider.throttle=30 %");
  CAPTURE(part);
  const auto result = run_program(folder, {"check", "mine.toml", "--no-computation", "--set", part});
  CHECK(result.code == 2);
  CHECK(result.out.empty());
  CHECK_THAT(result.err, Catch::Contains("is missing"));
}

TEST_CASE("input: check says whose values these are, what moves lambda most, and stays a case", "[cli]") {
  const CaseFolder folder;
  folder.write("mine.toml", ride);
  const auto result = run_program(folder, {"check", "mine.toml", "--set", "carburetor.ports.position=[]",
                                           "carburetor.ports.diameter=[]"});
  CHECK(result.code == 0);
  CHECK_THAT(result.out, Catch::Contains("2 of its own (2 by --set)") &&
                             Catch::Contains("Measure these first") &&
                             Catch::Contains("the engine will misfire between 5 and 15 % throttle"));
  folder.write("whole.toml", result.out);
  CHECK(run_program(folder, {"check", "whole.toml", "--no-computation"}).code == 0);

  const auto run = run_program(folder, {"run", "mine.toml", "--no-trace"});
  CHECK(run.code == 0);
  CHECK_THAT(run.out, Catch::Contains("Values: 0 of its own, ") && Catch::Contains("Measure these first"));
  CHECK_THAT(run_program(folder, {"run", "mine.toml", "--no-trace", "--no-sensitivity"}).out,
             !Catch::Contains("Measure these first"));
}

}  // namespace glassbowl::sim
