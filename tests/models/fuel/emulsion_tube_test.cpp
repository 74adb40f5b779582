#include "models/fuel/emulsion_tube.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
const EmulsionTube<> tube{{{-0.006, 0.8e-3, 2.0}, {-0.012, 0.6e-3, 4.0}, {-0.020, 0.8e-3, 2.0}}, 0.65, 0.0};

double area_of(double count, double diameter) {
  return 0.65 * count * 0.25 * constants::pi * diameter * diameter;
}
}  // namespace

TEST_CASE("emulsion tube: covered holes bleed nothing, and rows uncover from the top",
          "[models][fuel][emulsion_tube][limit]") {
  const double first = area_of(2, 0.8e-3), second = area_of(4, 0.6e-3), third = area_of(2, 0.8e-3);
  CHECK(uncovered_area(tube, 0.0) == 0.0);
  CHECK(uncovered_area(tube, -0.0056) == 0.0);
  CHECK_THAT(uncovered_area(tube, -0.006), near(0.5 * first, round_off(64)));
  CHECK_THAT(uncovered_area(tube, -0.009), near(first, round_off(8)));
  CHECK_THAT(uncovered_area(tube, -0.016), near(first + second, round_off(8)));
  CHECK_THAT(uncovered_area(tube, -0.030), near(first + second + third, round_off(8)));
  CHECK(uncovered_area(EmulsionTube<>{}, -1.0) == 0.0);
}

TEST_CASE("emulsion tube: dirt takes its share of every hole", "[models][fuel][emulsion_tube][limit]") {
  EmulsionTube<> dirty = tube;
  dirty.plugged = 0.4;
  CHECK_THAT(uncovered_area(dirty, -0.03), near(0.6 * uncovered_area(tube, -0.03), round_off(8)));
  dirty.plugged = 1.0;
  CHECK(uncovered_area(dirty, -0.03) == 0.0);
}

TEST_CASE("emulsion tube: a falling level uncovers area without jump or kink",
          "[models][fuel][emulsion_tube][continuity]") {
  const auto area = [](double h) { return uncovered_area(tube, h); };
  CHECK(never_rises(-0.03, 0.0, 2000, area));
  CHECK(kink_ratio(-0.022, -0.004, 1000, area) < smooth_ratio);
}

TEST_CASE("emulsion tube: surface tension takes its toll both ways and never more than there is",
          "[models][fuel][emulsion_tube][symmetry]") {
  const double toll = 105.0;
  CHECK(after_capillarity(0.0, toll) == 0.0);
  CHECK(after_capillarity(0.0, 0.0) == 0.0);
  CHECK_THAT(after_capillarity(500.0, 0.0), near(500.0, round_off(2)));
  for (double dp : {1.0, 50.0, 105.0, 2000.0, 1e5}) {
    const double left = after_capillarity(dp, toll);
    CHECK(after_capillarity(-dp, toll) == -left);
    CHECK(left >= 0.0);
    CHECK(left <= dp);
    CHECK(left >= dp - toll);
  }
  CHECK(after_capillarity(0.1 * toll, toll) < 1e-3 * toll);
  CHECK_THAT(after_capillarity(1e5, toll), near(1e5 - toll, absolute_error(0.1, "toll³ / (2 difference²)")));
  const auto f = [&](double dp) { return after_capillarity(dp, toll); };
  CHECK(never_falls(-1000.0, 1000.0, 2000, f));
  CHECK(kink_ratio(-500.0, 500.0, 500, f) < smooth_ratio);
}

TEST_CASE("emulsion tube: units agree", "[models][fuel][emulsion_tube][units]") {
  using namespace units;
  const EmulsionTube<Dimensioned> other{{{-0.006 * metre, 0.8e-3 * metre, 2.0 * one}}, 0.65 * one, 0.0 * one};
  CHECK(uncovered_area(other, -0.0061 * metre).dimension() == square_metre);
  CHECK(after_capillarity(300.0 * pascal, 100.0 * pascal).dimension() == pascal);
}
