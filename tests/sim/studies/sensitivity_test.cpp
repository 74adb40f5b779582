#include "sim/studies/sensitivity.hpp"

#include <catch2/catch.hpp>
#include <cmath>

#include "models/constants.hpp"
#include "sim/bike/provenance.hpp"
#include "sim/cases/layers.hpp"
#include "sim/report/wrap_text.hpp"

using namespace glassbowl::sim;
using Catch::Matchers::Contains;
using Catch::Matchers::WithinAbs;

namespace {

ResolvedCase mule(const std::string& keys = "") {
  return read_case_text(
      "base = \"bikes/mule_750\"\nload.kind = \"held_speed\"\nload.speed = \"3000 rpm\"\n"
      "run.duration = \"1 s\"\nair.temperature = \"25 C\"\n" +
          keys,
      "mine");
}

}  // namespace

TEST_CASE("sensitivity: the values named are those that move lambda most, by as much as they do",
          "[sim][studies]") {
  const ResolvedCase resolved = mule("carburetor.slow.jet.bore = \"0.53 mm\"\n");
  PointScheduler scheduler(nullptr, 0);
  const Sensitivities found = find_sensitivities(resolved, scheduler);
  REQUIRE(found.ranked.size() > 10);
  for (std::size_t i = 1; i < found.ranked.size(); ++i)
    CHECK(std::abs(found.ranked[i].most) <= std::abs(found.ranked[i - 1].most));
  for (const auto& s : found.ranked) {
    CAPTURE(s.origin.path);
    CHECK(s.origin.kind != Origin::Kind::own);
    CHECK(s.origin.path != "carburetor.slow.jet.bore");  // that one is the owner's
    REQUIRE(s.moved.size() == found.places.size());
    CHECK(std::isfinite(s.most));
  }
  // The first once more, from a case of its own.
  const auto& first = found.ranked.front();
  CHECK(std::abs(first.most) > 0.02);
  const auto signal = std::find_if(found.ranked.begin(), found.ranked.end(), [](const auto& s) {
    return s.origin.path == "carburetor.venturi.signal";
  });
  REQUIRE(signal != found.ranked.end());
  CHECK(signal->change == "+10 %");
  const auto lambda_at = [&](const std::vector<std::string>& sets, const Place& place) {
    const auto base = std::make_shared<const SharedCase>(resolved.text, sets);
    return run_steady(scheduler, {steady_task(base, place)}).front().trapped;
  };
  const Place& full = found.places.back();
  CHECK(full.opening == 1.0);
  CHECK_THAT(signal->moved.back(),
             WithinAbs(lambda_at({"carburetor.venturi.signal=1.265"}, full) - lambda_at({}, full), 2e-3));
  CHECK(signal->moved.back() < -0.01);  // more depression draws more fuel
  // The day's warmth counts: the places are in the case's own air.
  CHECK_THAT(full.warmer, WithinAbs(10.0, 1e-6));
  const std::string text = sensitivities_text(found);
  CHECK_THAT(text, Contains("Measure these first") && Contains(first.origin.path) && Contains("1500 rpm"));
  CHECK(misfires_text(found).empty());
}

TEST_CASE("sensitivity: every value may be examined, and an owner's are left alone", "[sim][studies]") {
  const ResolvedCase resolved = mule();
  PointScheduler scheduler(nullptr, 0);
  CHECK(find_sensitivities(resolved, scheduler, Scope::every_value).ranked.size() > 60);
  // All values made the owner's: nothing is left to examine.
  std::string own;
  for (const Origin& origin : resolved.origins)
    if (describes_machine(origin, resolved.bike)) own += origin.path + " = " + origin.value + "\n";
  const auto mine = find_sensitivities(mule(own), scheduler);
  CHECK(mine.ranked.empty());
  CHECK(sensitivities_text(mine).empty());
}

TEST_CASE("sensitivity: where transfer ports are missing the misfires are computed and named",
          "[sim][studies]") {
  const auto quick = find_sensitivities_quickly(
      mule("carburetor.ports.position = []\ncarburetor.ports.diameter = []\n"), Scope::usual, 120.0);
  CHECK(quick.why_not.empty());
  CHECK_THAT(
      misfires_text(quick.found),
      Contains("the engine will misfire between 5 and 15 % throttle at 3000 rpm: 100 % of the cycles at"));
}

TEST_CASE("sensitivity: next to no fuel gives no figures that mean nothing", "[sim][studies][limit]") {
  const auto quick =
      find_sensitivities_quickly(mule("carburetor.main.jet.bore = \"0.15 mm\"\ncarburetor.screw.turns = 0\n"
                                      "carburetor.ports.position = []\ncarburetor.ports.diameter = []\n"),
                                 Scope::usual, 120.0);
  CHECK(quick.why_not.empty());
  for (const auto& s : quick.found.ranked) CHECK(std::abs(s.most) < 2.0);
  CHECK_THAT(misfires_text(quick.found), Contains("almost no fuel"));
}

TEST_CASE("sensitivity: what takes too long is given up and said", "[sim][studies][limit]") {
  const auto quick = find_sensitivities_quickly(mule(), Scope::every_value, 0.05);
  CHECK_THAT(quick.why_not, Contains("it takes longer than"));
  CHECK(sensitivities_text(quick.found).empty());
}

TEST_CASE("wrapped: lines end at words and a number keeps its unit", "[sim][report]") {
  std::string text;
  for (int i = 0; i < 60; ++i) text += "word 12 mm ";
  const std::string lines = wrapped(text, "# ", "#   ");
  std::size_t begin = 0;
  for (std::size_t end = lines.find('\n'); end != std::string::npos; end = lines.find('\n', begin)) {
    const std::string line = lines.substr(begin, end - begin);
    CHECK(line.size() <= 100);
    CHECK(line.starts_with("# "));
    CHECK_FALSE(line.ends_with("12"));
    begin = end + 1;
  }
  CHECK(wrapped("a\nb", "- ", "  ") == "- a\n  b\n");
  CHECK(wrapped(std::string(120, 'x'), "", "") == std::string(120, 'x') + "\n");
}
