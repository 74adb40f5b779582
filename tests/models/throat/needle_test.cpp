#include "models/throat/needle.hpp"

#include <catch2/catch.hpp>

#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
double circle(double d) {
  return 0.25 * constants::pi * d * d;
}
}  // namespace

TEST_CASE("needle: the annulus is the jet less the needle at that lift", "[models][throat][needle][exact]") {
  const Needle<> needle;
  CHECK_THAT(needle_annulus_area(needle, 0.0), near(circle(2.6e-3) - circle(2.5e-3), round_off(32)));
  CHECK_THAT(needle_annulus_area(needle, 0.018), near(circle(2.6e-3) - circle(2.15e-3), round_off(32)));
  CHECK_THAT(needle_annulus_area(needle, 0.1), near(circle(2.6e-3) - circle(1.8e-3), round_off(32)));
  CHECK(needle_annulus_area(needle, -0.001) == needle_annulus_area(needle, 0.0));
}

TEST_CASE("needle: raising and wear each enrich by themselves", "[models][throat][needle][limit]") {
  Needle<> raised, worn;
  raised.raised = 0.9e-3;
  worn.jet_wear = 0.03e-3;
  const Needle<> standard;
  CHECK(needle_annulus_area(raised, 0.010) == needle_annulus_area(standard, 0.010 + 0.9e-3));
  CHECK_THAT(needle_annulus_area(worn, 0.010) - needle_annulus_area(standard, 0.010),
             near(circle(2.63e-3) - circle(2.60e-3), round_off(64, 1e-6)));
}

TEST_CASE("needle: one too thick for its jet shuts it and no more", "[models][throat][needle][limit]") {
  Needle<> thick;
  thick.jet_diameter = 2.4e-3;
  CHECK(needle_annulus_area(thick, 0.0) == 0.0);
  CHECK(needle_annulus_area(thick, 0.030) > 0.0);
}

TEST_CASE("needle: opens steadily through its stations", "[models][throat][needle][continuity]") {
  Needle<> needle;
  needle.diameter = Schedule<>({{0.0, 2.52e-3}, {0.010, 2.52e-3}, {0.020, 2.3e-3}, {0.036, 1.6e-3}});
  const auto area = [&](double lift) { return needle_annulus_area(needle, lift); };
  CHECK(never_falls(-0.002, 0.040, 2000, area, 1e-21));
  CHECK(jump_ratio(-0.002, 0.040, 500, area) < smooth_ratio);
}

TEST_CASE("needle: never negative, never more than the jet", "[models][throat][needle][limit]") {
  Random random(10);
  bool sound = true;
  for (int i = 0; i < 2000; ++i) {
    Needle<> n;
    n.jet_diameter = random.between(1.5e-3, 4e-3);
    n.jet_wear = random.between(0.0, 0.2e-3);
    n.raised = random.between(-2e-3, 2e-3);
    const double area = needle_annulus_area(n, random.between(-0.002, 0.05));
    sound = sound && area >= 0.0 && area <= circle(n.jet_diameter + n.jet_wear);
  }
  CHECK(sound);
}
