#include "models/engine/valve_lift.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
const Valve<> valve;
const double cycle = 4.0 * constants::pi;
}  // namespace

TEST_CASE("valve lift: shut outside its period, full in the middle, mirrored about it",
          "[models][engine][valve_lift][symmetry]") {
  CHECK(valve_lift(valve, valve.opens) == 0.0);
  CHECK(valve_lift(valve, 0.0) == 0.0);
  CHECK(valve_lift(valve, valve.closes + 0.01) == 0.0);
  CHECK(valve_lift(valve, valve.opens - 0.01) == 0.0);
  const double middle = 0.5 * (valve.opens + valve.closes);
  CHECK_THAT(valve_lift(valve, middle), near(valve.lift, round_off(8)));
  for (double d : {0.3, 1.0, 2.0})
    CHECK_THAT(valve_lift(valve, middle + d), near(valve_lift(valve, middle - d), round_off(64, valve.lift)));
}

TEST_CASE("valve lift: opens and closes without a kink", "[models][engine][valve_lift][continuity]") {
  CHECK(kink_ratio(0.0, cycle, 2000, [](double t) { return valve_lift(valve, t); }) < smooth_ratio);
  CHECK(never_falls(valve.opens, 0.5 * (valve.opens + valve.closes), 500,
                    [](double t) { return valve_lift(valve, t); }));
}

TEST_CASE("valve lift: a period that runs past the cycle's end goes on at its beginning",
          "[models][engine][valve_lift][symmetry]") {
  Valve<> late = valve;
  late.opens = 11.0;
  late.closes = 11.0 + (valve.closes - valve.opens);
  for (double theta : {0.2, 1.5, 2.5}) {
    CHECK(valve_lift(late, theta) > 0.0);
    CHECK_THAT(valve_lift(late, theta),
               near(valve_lift(valve, theta + cycle - 11.0 + valve.opens), round_off(256, valve.lift)));
  }
  CHECK(valve_lift(late, 3.0) == 0.0);
  CHECK(jump_ratio(0.0, 4.0, 500, [&](double t) { return valve_lift(late, t); }) < smooth_ratio);
}

TEST_CASE("valve lift: lash takes lift and time away", "[models][engine][valve_lift][limit]") {
  Valve<> loose = valve;
  loose.clearance_error = 0.3e-3;
  const double middle = 0.5 * (valve.opens + valve.closes);
  CHECK_THAT(valve_lift(loose, middle), near(valve.lift - 0.3e-3, round_off(16)));
  CHECK(valve_lift(loose, valve.opens + 0.1) == 0.0);
  loose.clearance_error = 1.0;
  CHECK(valve_lift(loose, middle) == 0.0);
}

TEST_CASE("valve lift: no lift no area, low lift the curtain, high lift the port",
          "[models][engine][valve_lift][limit]") {
  CHECK(valve_effective_area(valve, 0.0) == 0.0);
  CHECK_THAT(valve_effective_area(valve, 1e-5), near(0.69 * constants::pi * valve.diameter * 1e-5,
                                                     relative(1e-6, "lift over diameter, squared")));
  CHECK(valve_effective_area(valve, 1.0) == valve_effective_area(valve, 0.2974 * valve.diameter));
  Valve<> narrow = valve;
  narrow.seat_ratio = 0.6;
  const double port = narrow.seat_ratio * narrow.diameter;
  CHECK_THAT(valve_effective_area(narrow, 1.0),
             near(0.85 * 0.25 * constants::pi * port * port, round_off(8)));
  Valve<> pair = valve;
  pair.count = 2.0;
  CHECK(valve_effective_area(pair, 0.004) == 2.0 * valve_effective_area(valve, 0.004));
  const auto area = [](double lift) { return valve_effective_area(valve, lift); };
  CHECK(never_falls(0.0, 0.29 * valve.diameter, 500, area));
  CHECK(jump_ratio(0.0, valve.diameter, 500, area) < smooth_ratio);
}

TEST_CASE("valve lift: finite and not negative over all legal valves",
          "[models][engine][valve_lift][limit]") {
  Random random(15);
  bool sound = true;
  for (int i = 0; i < 3000; ++i) {
    Valve<> v;
    v.opens = random.between(0.0, cycle);
    v.closes = v.opens + random.between(2.0, 6.0);
    v.clearance_error = random.between(0.0, 1e-3);
    const double lift = valve_lift(v, random.between(0.0, cycle));
    const double area = valve_effective_area(v, lift);
    sound = sound && lift >= 0.0 && lift <= v.lift && area >= 0.0 && std::isfinite(area);
  }
  CHECK(sound);
}

TEST_CASE("valve lift: units agree", "[models][engine][valve_lift][units]") {
  using namespace units;
  Valve<Dimensioned> other;
  other.diameter = 0.038 * metre;
  other.lift = 0.0085 * metre;
  other.clearance_error = 1e-4 * metre;
  CHECK(valve_lift(other, 7.0 * one).dimension() == metre);
  CHECK(valve_effective_area(other, 0.004 * metre).dimension() == square_metre);
}
