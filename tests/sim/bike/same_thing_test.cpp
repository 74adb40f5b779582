#include <catch2/catch.hpp>
#include <cstring>

#include "sim/bike/resolved_case.hpp"
#include "tests/sim/cases/message_of.hpp"

using namespace glassbowl::sim;
using Catch::Matchers::Contains;
using Catch::Matchers::WithinAbs;

namespace {

/// The V-twin with more keys, each "section.key = value" on a line of its own.
ResolvedCase mule(const std::string& keys, const std::vector<std::string>& sets = {}) {
  return read_case_text(
      "base = \"bikes/mule_750\"\nload.kind = \"held_speed\"\nload.speed = \"3000 rpm\"\n"
      "run.duration = \"1 s\"\n" +
          keys,
      "mine", sets);
}

double main_bore(const ResolvedCase& resolved) {
  return resolved.bike.carburetor.main.main_jet.bore;
}
double level(const ResolvedCase& resolved) {
  return resolved.bike.carburetor.bowl.level;
}

const char* const rating = "carburetor.main.jet.flow_rating = \"300 cm3/min\"\n";

}  // namespace

TEST_CASE("same thing: a flow rating beside another bore is refused with both sizes",
          "[sim][cases][anomaly]") {
  CHECK_THAT(
      message_of([] { mule(std::string(rating) + "carburetor.main.jet.bore = \"1.2 mm\"\n"); }),
      Contains("[carburetor.main.jet] flow_rating = \"300 cm3/min\": under flow_head this is the flow of a "
               "bore of 1.") &&
          Contains("but bore says 1.200 mm; give one of them"));
  CHECK_THAT(message_of([] {
               mule("", {"carburetor.main.jet.flow_rating=300 cm3/min", "carburetor.main.jet.bore=1.2 mm"});
             }),
             Contains("but bore says 1.200 mm"));
  CHECK_THAT(message_of([] {
               mule(
                   "carburetor.main.jet.flow_rating = \"5000 cm3/min\"\ncarburetor.main.jet.flow_head = \"10 "
                   "mm\"\n");
             }),
             Contains("this is the flow of a bore of"));
}

TEST_CASE("same thing: bore and flow rating that agree pass, and the rating counts", "[sim][cases]") {
  const double rated = main_bore(mule(rating));
  CHECK(rated > 1.5e-3);
  CHECK(rated < 1.65e-3);  // the base has 1.67
  CHECK(main_bore(mule(std::string(rating) + "carburetor.main.jet.bore = \"" +
                       std::to_string(rated * 1.003e3) + " mm\"\n")) == rated);
}

TEST_CASE("same thing: the one given nearer to the case counts, and the resolved case says so once",
          "[sim][cases][symmetry]") {
  // The base gives a bore, the case a rating.
  const ResolvedCase own_rating = mule(rating);
  CHECK_THAT(own_rating.text, !Contains("bore = \"1.67 mm\"  # main jet"));
  CHECK(main_bore(read_case_text(own_rating.text, "again")) == main_bore(own_rating));
  // An override gives a bore over the case's rating.
  const ResolvedCase own_bore = mule(rating, {"carburetor.main.jet.bore=1.5 mm"});
  CHECK(main_bore(own_bore) == 1.5e-3);
  CHECK_THAT(own_bore.text, Contains("flow_rating = \"0 cm3/min\""));
  CHECK(main_bore(read_case_text(own_bore.text, "again")) == 1.5e-3);
  CHECK(main_bore(read_case_text(own_rating.text, "again", {"carburetor.main.jet.bore=1.5 mm"})) == 1.5e-3);

  CHECK(level(mule("float.height = \"20 mm\"\nfloat.height_at_datum = \"15 mm\"\n", {"float.level=-3 mm"})) ==
        -3e-3);
}

TEST_CASE("same thing: a float height needs its datum and may not contradict a level",
          "[sim][cases][anomaly]") {
  CHECK_THAT(message_of([] { mule("float.height = \"20 mm\"\n"); }),
             Contains("[float] height = \"20 mm\"") && Contains("height_at_datum, which is not given"));
  CHECK_THAT(message_of([] {
               mule("float.height = \"20 mm\"\nfloat.height_at_datum = \"15 mm\"\nfloat.level = \"-2 mm\"\n");
             }),
             Contains("this means a level of -5.00 mm, but level says -2.00 mm"));
  CHECK_THAT(message_of([] { mule("float.height = \"80 mm\"\nfloat.height_at_datum = \"15 mm\"\n"); }),
             Contains("this means a level of -65.00 mm"));
  const ResolvedCase sound = mule("float.height = \"20 mm\"\nfloat.height_at_datum = \"15 mm\"\n");
  CHECK_THAT(level(sound), WithinAbs(-5e-3, 1e-15));
  CHECK(level(read_case_text(sound.text, "again")) == level(sound));
  // A datum that a resolved case notes as a default is none that was measured.
  CHECK_THAT(message_of([] { read_case_text(mule("").text, "again", {"float.height=20 mm"}); }),
             Contains("height_at_datum, which is not given"));
}
