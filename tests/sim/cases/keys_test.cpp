#include "sim/cases/keys.hpp"

#include <fmt/format.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <cstdint>
#include <cstring>
#include <numbers>
#include <set>
#include <stdexcept>

#include "sim/bike/resolved_case.hpp"
#include "sim/cases/case_limits.hpp"
#include "tests/sim/cases/case_folder.hpp"
#include "tests/sim/cases/message_of.hpp"

using namespace glassbowl::sim;
using Catch::Matchers::Contains;
using Catch::Matchers::WithinRel;

namespace {

enum class Kind { fixed, piston };

/// A small machine with a key of every sort.
struct Machine {
  std::string name;
  double bore = 0.0, temperature = 0.0, speed = 0.0, coefficient = 0.0, opening = 0.0;
  std::vector<double> ports;
  std::vector<Keys::Point> throttle;
  int cylinders = 0;
  bool vented = false;
  Kind kind = Kind::fixed;
};

Machine declare(Keys& keys) {
  Machine m;
  keys.text("name", m.name, "unnamed", "what the case is called");
  keys.quantity("jet.bore", m.bore, "mm", {0.2, 5.0}, std::nullopt, "bore of the main jet");
  keys.quantity("jet.coefficient", m.coefficient, units::one, {0.0, 1.0}, "0.7", "discharge coefficient");
  keys.quantity("air.temperature", m.temperature, units::temperature, {-40.0, 60.0}, "20 degC",
                "air temperature");
  keys.quantity("engine.speed", m.speed, units::revolutions_per_minute, {0.0, 12000.0}, "1200 rpm",
                "crank speed");
  keys.integer("engine.cylinders", m.cylinders, 1, 4, "1", "number of cylinders");
  keys.flag("bowl.vented", m.vented, "true", "whether the bowl has a vent");
  keys.choice("throat.kind", m.kind, {{"fixed", Kind::fixed}, {"piston", Kind::piston}}, "fixed",
              "sort of throat");
  keys.quantity("throat.opening", m.opening, units::percent, {0.0, 100.0}, "25 %", "opening at rest");
  keys.quantities("ports.position", m.ports, "mm", {0.0, 10.0}, 3, "[]",
                  "distance of each port from the plate");
  keys.points("rider.throttle", m.throttle, "s", units::percent, {0.0, 100.0}, {0.0, 100.0}, "0 %",
              "throttle in time");
  return m;
}

Layers memory(const std::string& text, const std::vector<std::string>& sets = {}) {
  return Layers::parse(text, "runs/pass.toml", sets, {});
}

/// Message of the error that the machine's keys give for `text`.
std::string problems_of(const std::string& text, const std::vector<std::string>& sets = {}) {
  return message_of([&] {
    Keys keys(memory(text, sets));
    declare(keys);
    keys.finish();
  });
}

std::string with_bore(const std::string& rest) {
  return "jet.bore = '1 mm'\n" + rest;
}

std::uint64_t bits(double value) {
  std::uint64_t result = 0;
  std::memcpy(&result, &value, sizeof result);
  return result;
}

}  // namespace

TEST_CASE("keys: every sort of value is read and converted", "[sim][cases]") {
  Keys keys(memory(R"(
name = "to the pass"
[jet]
bore = "1.25 mm"
coefficient = 0.8
[air]
temperature = "50 degF"
[engine]
speed = "50 Hz"
cylinders = 2
[bowl]
vented = false
[throat]
kind = "piston"
opening = "0.25 percent"
[ports]
position = ["0.4 mm", "1.9 mm"]
[rider]
throttle = [["0 s", "0 %"], ["1 s", "0 %"], ["1050 ms", "80 %"]]
)"));
  const Machine m = declare(keys);
  REQUIRE_NOTHROW(keys.finish());
  CHECK(m.name == "to the pass");
  CHECK_THAT(m.bore, WithinRel(1.25e-3, 1e-14));
  CHECK(m.coefficient == 0.8);
  CHECK_THAT(m.temperature, WithinRel(283.15, 1e-14));
  CHECK_THAT(m.speed, WithinRel(100.0 * std::numbers::pi, 1e-14));
  CHECK(m.cylinders == 2);
  CHECK_FALSE(m.vented);
  CHECK(m.kind == Kind::piston);
  CHECK_THAT(m.opening, WithinRel(0.0025, 1e-14));
  REQUIRE(m.ports.size() == 2);
  CHECK_THAT(m.ports[1], WithinRel(1.9e-3, 1e-14));
  REQUIRE(m.throttle.size() == 3);
  CHECK_THAT(m.throttle[2].first, WithinRel(1.05, 1e-14));
  CHECK_THAT(m.throttle[2].second, WithinRel(0.8, 1e-14));
}

TEST_CASE("keys: defaults stand in for what is not given", "[sim][cases]") {
  Keys keys(memory(with_bore("")));
  const Machine m = declare(keys);
  REQUIRE_NOTHROW(keys.finish());
  CHECK(m.name == "unnamed");
  CHECK(m.coefficient == 0.7);
  CHECK_THAT(m.temperature, WithinRel(293.15, 1e-14));
  CHECK(m.cylinders == 1);
  CHECK(m.vented);
  CHECK(m.kind == Kind::fixed);
  CHECK(m.ports.empty());
  REQUIRE(m.throttle.size() == 1);
  CHECK(m.throttle[0] == Keys::Point{0.0, 0.0});
  CHECK(keys.given("jet.bore"));
  CHECK(keys.given("jet"));
  CHECK_FALSE(keys.given("jet.coefficient"));
  CHECK_FALSE(keys.given("engine"));
}

TEST_CASE("keys: one value alone makes a constant or an array of one", "[sim][cases]") {
  Keys keys(memory(with_bore("ports.position = '2 mm'\nrider.throttle = '40 %'\n")));
  const Machine m = declare(keys);
  REQUIRE_NOTHROW(keys.finish());
  CHECK(m.ports.size() == 1);
  REQUIRE(m.throttle.size() == 1);
  CHECK(m.throttle[0].first == 0.0);
  CHECK_THAT(m.throttle[0].second, WithinRel(0.4, 1e-14));
}

TEST_CASE("keys: limits themselves are allowed in any unit", "[sim][cases][limit]") {
  for (const char* bore : {"0.2 mm", "0.02 cm", "200 um", "5 mm", "0.5 cm", "5e-3 m", "5000 um"}) {
    INFO(bore);
    CHECK(problems_of(fmt::format("jet.bore = '{}'", bore)) == "(no error)");
  }
  CHECK(problems_of(with_bore("engine.speed = '200 Hz'")) == "(no error)");
  CHECK(problems_of(with_bore("engine.speed = '12000 rpm'")) == "(no error)");
  CHECK(problems_of(with_bore("air.temperature = '140 degF'")) == "(no error)");
  CHECK(problems_of(with_bore("throat.opening = '1 '")) != "(no error)");
}

TEST_CASE("keys: a wrong dimension is shown with place, value, remedy and caret", "[sim][cases][anomaly]") {
  CHECK(
      problems_of("# a run\n[jet]\nbore = \"1.25 l\"\n") ==
      "runs/pass.toml:3:8: [jet] bore = \"1.25 l\": this is a volume; a length is needed, such as \"1 mm\"\n"
      "  bore = \"1.25 l\"\n"
      "         ^\n"
      "1 problem in runs/pass.toml");
  CHECK_THAT(
      problems_of(with_bore("[air]\ntemperature = '3 bar'\n")),
      Contains(
          "runs/pass.toml:3:15: [air] temperature = '3 bar': this is a pressure; an absolute temperature is "
          "needed, such as \"20 degC\""));
}

TEST_CASE("keys: bad values of each sort say what would do", "[sim][cases][anomaly]") {
  struct Row {
    const char *text, *part;
  };
  const auto row = GENERATE(values<Row>({
      {"jet.bore = 1.25", "[jet] bore = 1.25: this has no unit; a length is needed, such as \"1 mm\""},
      {"jet.bore = 1", "[jet] bore = 1: this has no unit"},
      {"jet.bore = '0.1 mm'", "this is below 0.2 mm; give 0.2 mm to 5 mm"},
      {"jet.bore = '1 cm'", "this is above 5 mm; give 0.2 mm to 5 mm"},
      {"jet.bore = nan", "[jet] bore = nan: this is not a finite number"},
      {"jet.bore = true", "this is true or false; a length is needed"},
      {"jet.bore = ['1 mm']", "this is an array; a length is needed"},
      {"jet.bore = 2020-01-01", "this is a date or time; a length is needed"},
      {"jet.bore = {}", "this is a section or table; a length is needed"},
      {"[jet.bore]\nx = 1", "[jet] bore = (a section): this is a section or table; a length is needed"},
      {"jet.coefficient = 1.5", "this is above 1; give 0 to 1"},
      {"jet.coefficient = inf", "this is not a finite number; a pure number is needed, such as 0.7"},
      {"jet.coefficient = 0.11111111111111111111111111111111111111111111",
       "a number of more than 40 characters"},
      {"jet.coefficient = '1 mm'", "this is a length; a pure number is needed"},
      {"engine.speed = '3 m/s'", "this is a speed; an angular speed is needed, such as \"1200 rpm\""},
      {"engine.cylinders = 1.0",
       "[engine] cylinders = 1.0: this is a decimal number; give a whole number from 1 to 4"},
      {"engine.cylinders = 0", "this is below 1; give a whole number from 1 to 4"},
      {"engine.cylinders = 9223372036854775807", "this is above 4; give a whole number from 1 to 4"},
      {"engine.cylinders = '2'", "this is text; give a whole number"},
      {"bowl.vented = 'yes'", "this is text; give true or false, without quotes"},
      {"throat.kind = 'pistn'",
       "not among the choices; give one of \"fixed\", \"piston\"; did you mean \"piston\"?"},
      {"throat.kind = 3", "this is a whole number; give one of \"fixed\", \"piston\""},
      {"throat.opening = 25", "this has no unit; a fraction is needed, such as \"25 %\""},
      {"name = 3", "name = 3: this is a whole number; give text in quotes"},
      {"ports.position = ['1 mm', '2 l']", "entry 2, \"2 l\", is a volume; a length is needed"},
      {"ports.position = ['1 mm', 2]", "entry 2, 2, has no unit"},
      {"ports.position = ['1 mm', '11 mm']", "entry 2, \"11 mm\", is above 10 mm; give 0 mm to 10 mm"},
      {"ports.position = ['1 mm', '1 mm', '1 mm', '1 mm']", "this has 4 entries; give at most 3"},
      {"[[ports.position]]\nx = 1", "entry 1, {\"x\" = 1}, is a section or table"},
      {"rider.throttle = []", "this has no points; give points such as [[\""},
      {"rider.throttle = [['0 s', '0 %'], ['1 s']]",
       "point 2, [\"1 s\"], is not a pair; give points such as"},
      {"rider.throttle = ['0 s', '0 %']", "point 1, \"0 s\", is not a pair"},
      {"rider.throttle = [['0 s', '0 %'], ['1 mm', '0 %']]",
       "point 2, \"1 mm\", is a length; a time is needed"},
      {"rider.throttle = [['0 s', '0 %'], ['1 s', '101 %']]", "point 2, \"101 %\", is above 100 %"},
      {"rider.throttle = [['0 s', '0 %'], ['0 s', '9 %']]",
       "point 2, [\"0 s\", \"9 %\"], does not lie after"},
      {"rider.throttle = [['2 s', '0 %'], ['1 s', '9 %']]", "put the points in order"},
      {"rider.throttle = '5 mm'", "this is a length; a fraction or percentage"},
  }));
  const std::string text =
      std::string(row.text).find("jet.bore") == std::string::npos ? with_bore(row.text) : row.text;
  INFO(text);
  const std::string message = problems_of(text);
  CHECK_THAT(message, Contains(row.part));
  CHECK_THAT(message,
             Contains("runs/pass.toml:") && Contains("^") && Contains("1 problem in runs/pass.toml"));
}

TEST_CASE("keys: the caret of an array points at the entry", "[sim][cases][anomaly]") {
  CHECK_THAT(problems_of(with_bore("[ports]\nposition = ['1 mm',\n  '2 l']\n")),
             Contains("runs/pass.toml:4:3: [ports] position = ['1 mm', ...: entry 2") &&
                 Contains("    '2 l']\n    ^"));
}

TEST_CASE("keys: too many points and too long texts are refused", "[sim][cases][anomaly]") {
  std::string points = "rider.throttle = [";
  for (std::size_t i = 0; i <= limits::points; ++i) points += fmt::format("['{} ms', '0 %'],\n", i);
  CHECK_THAT(problems_of(with_bore(points + "]\n")), Contains("this has 4097 points; give at most 4096"));
  CHECK_THAT(problems_of(with_bore("") + "name = '" + std::string(5000, 'x') + "'\n"),
             Contains("longer than 4000"));
}

TEST_CASE("keys: missing keys are named with their meaning and an example", "[sim][cases][anomaly]") {
  CHECK(problems_of("") ==
        "runs/pass.toml: [jet] bore is missing: bore of the main jet; a length, 0.2 mm to 5 mm is needed, "
        "such as "
        "bore = \"1 mm\"\n1 problem in runs/pass.toml");
  CHECK_THAT(problems_of("\n[jet]\ncoefficient = 0.5\n"),
             Contains("runs/pass.toml:2:1: [jet] bore is missing"));
}

TEST_CASE("keys: unknown keys are refused with the nearest known key", "[sim][cases][anomaly]") {
  CHECK_THAT(
      problems_of(with_bore("jet.boer = '1 mm'\n")),
      Contains("runs/pass.toml:2:5: [jet] boer = '1 mm': there is no such key; did you mean \"bore\"?\n"
               "  jet.boer = '1 mm'\n"
               "      ^\n"));
  CHECK_THAT(problems_of(with_bore("[throat]\nbore = '1 mm'\n")), Contains("did you mean \"jet.bore\"?"));
  CHECK_THAT(problems_of(with_bore("nmae = 'x'\n")),
             Contains("nmae = 'x': there is no such key; did you mean \"name\"?"));
  CHECK_THAT(problems_of(with_bore("[engine]\ncolour = 'red'\n")),
             Contains("there is no such key; the keys of [engine] are speed, cylinders"));
  CHECK_THAT(problems_of(with_bore("[enigne]\nspeed = '1 Hz'\ncylinders = 1\n")),
             Contains("runs/pass.toml:2:2: [enigne]: there is no such section; did you mean [engine]?") &&
                 Contains("1 problem in"));
  CHECK_THAT(problems_of(with_bore("[[jets]]\nbore = 1\n")),
             Contains("jets") && Contains("there is no such key"));
  CHECK_THAT(
      problems_of(with_bore("engine = 3\n")),
      Contains(
          "engine = 3: this is a section with keys of its own, not a value; write [engine] and its keys"));
  // A quoted key with a dot looks like a path, and must not slip through as one.
  CHECK_THAT(problems_of(with_bore("\"engine.speed\" = '1 Hz'\n")),
             Contains("\"engine.speed\" = '1 Hz': there is no such key; keys of a case consist of letters"));
  CHECK_THAT(problems_of(with_bore("\"\\u001b[31m\" = 1\n")), Contains("there is no such key"));
  CHECK(problems_of(with_bore("\"\\u001b[31m\" = 1\n")).find('\x1b') == std::string::npos);
}

TEST_CASE("keys: unknown keys in a base are refused too, at their own place", "[sim][cases][anomaly]") {
  const CaseFolder home;
  home.write("bikes/mule.toml", "[jet]\nbore = '1 mm'\nbor = '2 mm'\n");
  const auto file = home.write("runs/run.toml", "base = '../bikes/mule.toml'\n[jet]\nbore = '2 mm'\n");
  const std::string message = message_of([&] {
    Keys keys(Layers::read(file, {}, {}));
    declare(keys);
    keys.finish();
  });
  CHECK_THAT(message, Contains("mule.toml:3:1: [jet] bor = '2 mm'") && Contains("1 problem in"));
}

TEST_CASE("keys: a section in a base cannot hide behind a value", "[sim][cases][anomaly]") {
  const CaseFolder home;
  home.write("mule.toml", "[jet.bore]\nwide = '1 mm'\n");
  const auto file = home.write("run.toml", "base = 'mule.toml'\n[jet]\nbore = '2 mm'\n");
  const std::string message = message_of([&] {
    Keys keys(Layers::read(file, {}, {}));
    declare(keys);
    keys.finish();
  });
  CHECK_THAT(message,
             Contains("this is a section, but it is declared as a value; give a length, 0.2 mm to 5 mm"));
}

TEST_CASE("keys: all problems come in one error, in the order of the file", "[sim][cases][anomaly]") {
  const auto error = error_of([] {
    Keys keys(memory("nmae = 'x'\n[engine]\ncylinders = 9\n[jet]\ncoefficient = '3 m'\n"));
    declare(keys);
    keys.finish();
  });
  REQUIRE(error);
  CHECK(error->kind() == ErrorKind::case_file);
  const std::string message = error->what();
  const auto name = message.find("nmae"), cylinders = message.find("cylinders = 9"),
             missing = message.find("bore is missing"), coefficient = message.find("coefficient = '3 m'");
  REQUIRE(coefficient != std::string::npos);
  CHECK(name < cylinders);
  CHECK(cylinders < missing);
  CHECK(missing < coefficient);
  CHECK_THAT(message, Contains("4 problems in runs/pass.toml"));
}

TEST_CASE("keys: thousands of problems give a short error soon", "[sim][cases][anomaly]") {
  std::string text = with_bore("");
  for (int i = 0; i < 50000; ++i) text += fmt::format("key_{} = 1\n", i);
  const std::string message = problems_of(text);
  CHECK_THAT(message, Contains("... and 360 more") && Contains("400 or more problems in"));
  CHECK(message.size() < 40000);
}

TEST_CASE("keys: overrides win over files and are named as their source", "[sim][cases]") {
  Keys keys(memory("[jet]\nbore = '1 mm'\n",
                   {"jet.bore=2 mm", "engine.cylinders=2", "rider.throttle=[['0 s', '5 %']]"}));
  const Machine m = declare(keys);
  REQUIRE_NOTHROW(keys.finish());
  CHECK_THAT(m.bore, WithinRel(2e-3, 1e-14));
  CHECK(m.cylinders == 2);
  CHECK_THAT(m.throttle.at(0).second, WithinRel(0.05, 1e-14));
  CHECK(problems_of("jet.bore = '1 mm'", {"jet.bore=1.25 l"}) ==
        "--set jet.bore: [jet] bore = 1.25 l: this is a volume; a length is needed, such as \"1 mm\"\n"
        "1 problem in runs/pass.toml");
  CHECK_THAT(problems_of("jet.bore = '1 mm'", {"jet.boer=1 mm"}),
             Contains("--set jet.boer: [jet] boer = 1 mm: there is no such key; did you mean \"bore\"?"));
  CHECK_THAT(problems_of("jet.bore = '1 mm'", {"jet=1 mm"}),
             Contains("--set jet: jet = 1 mm: this is a section"));
}

TEST_CASE("keys: conflicts found by the caller point at their key", "[sim][cases][anomaly]") {
  Keys keys(memory("[jet]\nbore = '4 mm'\n", {"engine.cylinders=2"}));
  const Machine m = declare(keys);
  CHECK(keys.sound());
  keys.problem("jet.bore", "the jet is wider than its well of 3 mm", "give a smaller jet or a wider well");
  keys.problem("engine.cylinders", "two cylinders share one jet", "give a jet each");
  keys.problem("throat.opening", "the plate stands open", "close it");
  CHECK_FALSE(keys.sound());
  const std::string message = message_of([&] { keys.finish(); });
  CHECK_THAT(
      message,
      Contains("runs/pass.toml:2:8: [jet] bore = '4 mm': the jet is wider than its well of 3 mm; give a "
               "smaller jet or a wider well\n  bore = '4 mm'\n         ^"));
  CHECK_THAT(
      message,
      Contains("--set engine.cylinders: [engine] cylinders = 2: two cylinders share one jet; give a jet"));
  CHECK_THAT(
      message,
      Contains("runs/pass.toml: [throat] opening = \"25 %\" (default): the plate stands open; close it"));
  CHECK_THROWS_AS(keys.problem("jet.none", "x", "y"), std::logic_error);
  CHECK(m.cylinders == 2);
}

TEST_CASE("keys: warnings are kept and do not stop the case", "[sim][cases]") {
  Keys keys(memory(with_bore("")));
  declare(keys);
  CHECK(keys.warnings().empty());
  keys.warning("jet.bore", "this is rather lean");
  keys.warning("engine.speed", "this is slow");
  REQUIRE_NOTHROW(keys.finish());
  CHECK(keys.warnings() ==
        std::vector<std::string>{"runs/pass.toml:1:12: [jet] bore = '1 mm': this is rather lean",
                                 "runs/pass.toml: [engine] speed = \"1200 rpm\" (default): this is slow"});
  CHECK_THROWS_AS(keys.warning("jet.none", "x"), std::logic_error);
}

TEST_CASE("keys: what is bad or missing compares as nothing, so that no check follows on it",
          "[sim][cases][anomaly]") {
  Keys keys(memory("engine.cylinders = 7\n"));
  const Machine m = declare(keys);
  CHECK(std::isnan(m.bore));
  CHECK(m.cylinders == 1);
  CHECK_FALSE(keys.sound());
}

TEST_CASE("keys: quoted text is clipped and cannot steer the terminal", "[sim][cases][anomaly]") {
  const std::string message = problems_of("jet.bore = \"1 " + std::string(500, 'x') + "\" # \u202e \u009b\n");
  CHECK_THAT(message, Contains("...: this is longer than 80 characters"));
  CHECK(message.find("\u202e") == std::string::npos);
  CHECK(message.find("\u009b") == std::string::npos);
  CHECK(message.size() < 500);
}

TEST_CASE("keys: the resolved case gives the same numbers bit for bit", "[sim][cases][symmetry]") {
  const CaseFolder home;
  home.write("bikes/mule.toml",
             "name = \"mule \\\"two\\\" \\u0001 \\\\ \u00fc\"\n[jet]\nbore = '0.0551181 in'\ncoefficient = "
             "0.1234567890123456789\n"
             "[air]\ntemperature = '71.3 degF'\n[engine]\nspeed = '1234.56789 1/min'\n");
  const auto file =
      home.write("runs/run.toml",
                 "base = '../bikes/mule.toml'\n[ports]\nposition = ['0.1 mm', '0.0123 in']\n[rider]\n"
                 "throttle = [['0 s', '33.3 %'], ['0.1 s', '66.6 %']]\n");
  Keys first(Layers::read(file, {"throat.opening=7.7 %", "throat.kind=piston", "bowl.vented=false"}, {}));
  const Machine a = declare(first);
  REQUIRE_NOTHROW(first.finish());
  const std::string text = first.resolved();
  INFO(text);
  Keys second(Layers::parse(text, "resolved", {}, {}));
  const Machine b = declare(second);
  REQUIRE_NOTHROW(second.finish());
  CHECK(a.name == b.name);
  CHECK(bits(a.bore) == bits(b.bore));
  CHECK(bits(a.coefficient) == bits(b.coefficient));
  CHECK(bits(a.temperature) == bits(b.temperature));
  CHECK(bits(a.speed) == bits(b.speed));
  CHECK(bits(a.opening) == bits(b.opening));
  CHECK(a.cylinders == b.cylinders);
  CHECK(a.vented == b.vented);
  CHECK(a.kind == b.kind);
  REQUIRE(b.ports.size() == 2);
  CHECK(bits(a.ports[1]) == bits(b.ports[1]));
  REQUIRE(b.throttle.size() == 2);
  CHECK(bits(a.throttle[1].first) == bits(b.throttle[1].first));
  CHECK(bits(a.throttle[1].second) == bits(b.throttle[1].second));

  CHECK(text.find("base") == std::string::npos);
  CHECK_THAT(text, Contains("[jet]\nbore = \"0.0551181 in\"  # bore of the main jet (bikes/mule.toml)\n"));
  CHECK_THAT(text, Contains("position = [\"0.1 mm\", \"0.0123 in\"]  # distance of each port from the plate "
                            "(own, runs/run.toml)"));
  CHECK_THAT(text, Contains("opening = \"7.7 %\"  # opening at rest (--set)"));
  CHECK_THAT(text, Contains("cylinders = 1  # number of cylinders (default)"));
  // Read from its own text it still says where each value came from.
  CHECK(second.resolved() == text);
  Keys third(Layers::parse(text, "resolved", {"jet.bore=2 mm"}, {}));
  declare(third);
  CHECK_THAT(third.resolved(), Contains("bore = \"2 mm\"  # bore of the main jet (--set)\n"));
}

TEST_CASE("keys: sections are grouped even if keys are declared in turns", "[sim][cases]") {
  Keys keys(memory(""));
  double a = 0.0, b = 0.0, c = 0.0, d = 0.0;
  keys.quantity("x.a", a, "mm", {}, "1 mm", "first");
  keys.quantity("y.b", b, "mm", {}, "2 mm", "second");
  keys.quantity("x.c", c, "mm", {}, "3 mm", "third");
  keys.quantity("d", d, "mm", {}, "4 mm", "top\nlevel");
  CHECK(keys.resolved() ==
        "d = \"4 mm\"  # top level (default)\n\n[x]\na = \"1 mm\"  # first (default)\nc = \"3 mm\"  # third "
        "(default)\n\n"
        "[y]\nb = \"2 mm\"  # second (default)\n");
}

TEST_CASE("keys: the listing is a case with meaning, range and default of every key", "[sim][cases]") {
  Keys keys(memory(""));
  declare(keys);
  const std::string listing = keys.listing();
  INFO(listing);
  CHECK_THAT(listing,
             Contains("# bore of the main jet: a length, 0.2 mm to 5 mm; required\nbore = \"1 mm\"\n"));
  CHECK_THAT(listing, Contains("# sort of throat: one of \"fixed\", \"piston\"\nkind = \"fixed\"\n"));
  CHECK_THAT(listing, Contains("# number of cylinders: a whole number, 1 to 4\ncylinders = 1\n"));
  Keys again(memory(listing));
  declare(again);
  CHECK_NOTHROW(again.finish());
}

TEST_CASE("keys: declarations that contradict themselves are our mistake", "[sim][cases][anomaly]") {
  Keys keys(memory(""));
  double x = 0.0;
  int n = 0;
  Kind kind = Kind::fixed;
  keys.quantity("a.b", x, "mm", {}, "1 mm", "");
  CHECK_THROWS_AS(keys.quantity("a.b", x, "mm", {}, "1 mm", ""), std::logic_error);
  CHECK_THROWS_AS(keys.quantity("a", x, "mm", {}, "1 mm", ""), std::logic_error);
  CHECK_THROWS_AS(keys.quantity("a.b.c", x, "mm", {}, "1 mm", ""), std::logic_error);
  CHECK_THROWS_AS(keys.quantity("base", x, "mm", {}, "1 mm", ""), std::logic_error);
  CHECK_THROWS_AS(keys.quantity("a..c", x, "mm", {}, "1 mm", ""), std::logic_error);
  CHECK_THROWS_AS(keys.quantity("c", x, "mm", {0.0, 1.0}, "2 mm", ""), std::logic_error);
  CHECK_THROWS_AS(keys.quantity("d", x, "mm", {}, "2 l", ""), std::logic_error);
  CHECK_THROWS_AS(keys.quantity("e", x, "mmm", {}, "2 mm", ""), std::logic_error);
  CHECK_THROWS_AS(keys.integer("f", n, 1, 2, "3", ""), std::logic_error);
  CHECK_THROWS_AS(keys.choice("g", kind, {{"fixed", Kind::fixed}}, "other", ""), std::logic_error);
}

TEST_CASE("keys: faults are those whose meaning says so", "[sim][cases]") {
  std::set<std::string> faults;
  for (const auto& key : declared_keys())
    if (key.fault) faults.insert(key.path);
  for (const char* fault : {"carburetor.main.jet.wear", "float.level_error", "manifold.leak_area"})
    CHECK(faults.count(fault) == 1);
  CHECK(faults.count("carburetor.main.jet.bore") == 0);
  CHECK(faults.size() >= 10);
}

TEST_CASE("error: kinds map to exit codes", "[sim][api]") {
  CHECK(Error(ErrorKind::input, "x").exit_code() == 2);
  CHECK(Error(ErrorKind::case_file, "x").exit_code() == 2);
  CHECK(Error(ErrorKind::solver, "x").exit_code() == 1);
  CHECK(Error(ErrorKind::file, "x").exit_code() == 1);
}
