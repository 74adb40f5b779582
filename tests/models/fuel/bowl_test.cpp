#include "models/fuel/bowl.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
const Bowl<> bowl;
const double rho = 745.0;

double valve(double h, double feed = 2200.0, const Bowl<>& b = bowl) {
  return float_valve_area(b, h, feed, rho);
}
/// Level at which a sound bowl's valve passes what the shipped one does at its set level.
double shut_level(const Bowl<>& b, double feed) {
  const double at_seat = valve(bowl.level, bowl.nominal_feed);
  double low = -0.05, high = 0.05;
  for (int i = 0; i < 100; ++i) {
    const double middle = 0.5 * (low + high);
    (valve(middle, feed, b) > at_seat ? low : high) = middle;
  }
  return 0.5 * (low + high);
}
}  // namespace

TEST_CASE("bowl: level follows the fuel it holds", "[models][fuel][bowl][exact]") {
  CHECK(bowl_level(bowl, 0.0, rho) == -bowl.depth);
  CHECK_THAT(bowl_level(bowl, rho * bowl.area * bowl.depth, rho), near(0.0, round_off(4, bowl.depth)));
}

TEST_CASE("bowl: the needle shuts as the level rises and opens to its seat's section",
          "[models][fuel][bowl][limit]") {
  CHECK(never_rises(-0.03, 0.01, 4000, [](double h) { return valve(h); }));
  CHECK(kink_ratio(bowl.level - 2e-5, bowl.level + 2e-5, 200, [](double h) { return valve(h); }) <
        smooth_ratio);
  const double seat = bowl.seat_discharge * 0.25 * constants::pi * bowl.seat_bore * bowl.seat_bore;
  CHECK(valve(-10.0) < seat);
  CHECK_THAT(valve(-10.0), near(seat, relative(1e-5, "ring in series with the seat")));
  // Shut, nothing is left but the rounding over 2 µm of lift: (2 µm)² / 4 over the lift missing.
  const double over = 1e-3 * bowl.lever_ratio;
  CHECK_THAT(valve(bowl.level + 1e-3), near(bowl.seat_discharge * constants::pi * bowl.seat_bore *
                                                std::sin(0.5 * bowl.needle_angle) * 1e-12 / over,
                                            relative(1e-3, "next order of the rounding")));
}

TEST_CASE("bowl: feed pressure, a bent float and a leak act each by itself", "[models][fuel][bowl][limit]") {
  CHECK_THAT(shut_level(bowl, bowl.nominal_feed), near(bowl.level, absolute_error(1e-12, "bisection")));
  // Moments about the pin: the feed's push on the seat by its arm against the float's buoyancy.
  const double push = 1000.0 * 0.25 * constants::pi * bowl.seat_bore * bowl.seat_bore * bowl.lever_ratio;
  const double rise = shut_level(bowl, bowl.nominal_feed + 1000.0) - bowl.level;
  CHECK_THAT(rho * constants::g0 * bowl.float_area * rise, near(push, relative(1e-8, "bisection")));
  Bowl<> bent = bowl;
  bent.float_error = 0.002;
  CHECK_THAT(shut_level(bent, bowl.nominal_feed),
             near(bowl.level + 0.002, absolute_error(1e-12, "bisection")));
  Bowl<> leaking = bowl;
  leaking.needle_leak = 0.1e-6;
  // Shut, the leak is in series with the seat's bore of 4.15 mm2.
  const double seat = 0.25 * constants::pi * bowl.seat_bore * bowl.seat_bore;
  CHECK_THAT(valve(0.004, 2200.0, leaking),
             near(bowl.seat_discharge * 0.1e-6 / std::sqrt(1.0 + std::pow(0.1e-6 / seat, 2)),
                  relative(1e-3, "rounding of the needle's lift")));
}

TEST_CASE("bowl: no leak passes more than the seat's bore", "[models][fuel][bowl][limit]") {
  const double seat = bowl.seat_discharge * 0.25 * constants::pi * bowl.seat_bore * bowl.seat_bore;
  Bowl<> leaking = bowl;
  double before = 0.0;
  for (double leak : {0.01e-6, 0.1e-6, 1e-6, 10e-6, 1e-3}) {
    leaking.needle_leak = leak;
    for (double h : {-0.02, 0.004}) CHECK(valve(h, 2200.0, leaking) < seat);
    CHECK(valve(0.004, 2200.0, leaking) > before);
    before = valve(0.004, 2200.0, leaking);
  }
  CHECK_THAT(before, near(seat, relative(1e-4, "leak in series with the seat")));
}

TEST_CASE("bowl: inflow needs pressure, a tap and an open needle", "[models][fuel][bowl][zero]") {
  CHECK(bowl_inflow(1e-5, 1e-6, 0.0, rho) == 0.0);
  CHECK(bowl_inflow(0.0, 1e-6, 2200.0, rho) == 0.0);
  CHECK(bowl_inflow(1e-5, 0.0, 2200.0, rho) == 0.0);
  CHECK(bowl_inflow(1e-5, 1e-6, -500.0, rho) == 0.0);  // the tank does not draw the bowl empty
  CHECK_THAT(bowl_inflow(1.0, 1e-6, 2200.0, rho),
             near(1e-6 * std::sqrt(2.0 * rho * 2200.0), relative(1e-5, "smoothing over 5 Pa")));
  CHECK(bowl_inflow(1e-6, 2e-6, 2200.0, rho) == bowl_inflow(2e-6, 1e-6, 2200.0, rho));
  CHECK(never_falls(-100.0, 5000.0, 1000, [](double p) { return bowl_inflow(1e-5, 1e-6, p, rho); }));
  CHECK(jump_ratio(-50.0, 50.0, 500, [](double p) { return bowl_inflow(1e-5, 1e-6, p, rho); }) <
        smooth_ratio);
}

TEST_CASE("bowl: it runs over its rim only, gently at first", "[models][fuel][bowl][continuity]") {
  CHECK(bowl_overflow(bowl, bowl.rim, rho) == 0.0);
  CHECK(bowl_overflow(bowl, -0.01, rho) == 0.0);
  const auto over = [](double h) { return bowl_overflow(bowl, h, rho); };
  CHECK(never_falls(0.0, 0.02, 1000, over));
  CHECK(kink_ratio(0.0, 0.012, 600, over) <
        0.5);  // slope by the square root of height: 1/4 for 16 times finer
  CHECK_THAT(over(bowl.rim + 4e-3) / over(bowl.rim + 1e-3), near(8.0, round_off(64)));
}

TEST_CASE("bowl: a fed bowl that is drawn on settles where inflow meets draw",
          "[models][fuel][bowl][balance]") {
  const double draw = 1e-3, feed = 2200.0, dt = 1e-3;
  double mass = rho * bowl.area * 0.020, drawn = 0.0, fed = 0.0;
  const double start = mass;
  for (int i = 0; i < 60000; ++i) {
    const double inflow = bowl_inflow(1e-5, valve(bowl_level(bowl, mass, rho), feed), feed, rho);
    mass += dt * (inflow - draw);
    fed += dt * inflow;
    drawn += dt * draw;
  }
  const double level = bowl_level(bowl, mass, rho);
  CHECK_THAT(bowl_inflow(1e-5, valve(level, feed), feed, rho),
             near(draw, relative(1e-6, "60 s of settling")));
  CHECK(level < bowl.level);
  CHECK(level > bowl.level - 0.004);
  CHECK_THAT(mass - start, near(fed - drawn, round_off(60000, drawn)));
}

TEST_CASE("bowl: finite and not negative over all legal sizes", "[models][fuel][bowl][limit]") {
  Random random(7);
  bool sound = true;
  for (int i = 0; i < 3000; ++i) {
    Bowl<> b;
    b.seat_bore = random.over_decades(0.5e-3, 5e-3);
    b.lever_ratio = random.between(0.1, 1.0);
    b.needle_angle = random.between(0.2, 2.5);
    b.float_error = random.between(-0.01, 0.01);
    b.needle_leak = random.between(0.0, 1e-6);
    const double h = random.between(-0.04, 0.02);
    const double area = float_valve_area(b, h, random.between(0.0, 5000.0), rho);
    const double inflow =
        bowl_inflow(random.over_decades(1e-9, 1e-4), area, random.between(-2000.0, 6000.0), rho);
    const double over = bowl_overflow(b, h, rho);
    sound =
        sound && area >= 0.0 && std::isfinite(area) && inflow >= 0.0 && std::isfinite(inflow) && over >= 0.0;
  }
  CHECK(sound);
}

TEST_CASE("bowl: units agree", "[models][fuel][bowl][units]") {
  using namespace units;
  Bowl<Dimensioned> other;
  other.area = 18e-4 * square_metre;
  other.depth = 0.03 * metre;
  other.rim = 0.006 * metre;
  CHECK(bowl_level(other, 0.03 * kilogram, rho * density).dimension() == metre);
  CHECK(bowl_overflow(other, 0.01 * metre, rho * density).dimension() == mass_flow);
  other.level = -0.004 * metre;
  other.float_area = 7e-4 * square_metre;
  other.seat_bore = 2.3e-3 * metre;
  other.nominal_feed = 2200.0 * pascal;
  other.float_error = 0.0 * metre;
  other.needle_leak = 0.0 * square_metre;
  CHECK(float_valve_area(other, -0.005 * metre, 2000.0 * pascal, rho * density).dimension() == square_metre);
  CHECK(bowl_inflow(1e-6 * square_metre, 2e-6 * square_metre, 2000.0 * pascal, rho * density).dimension() ==
        mass_flow);
}
