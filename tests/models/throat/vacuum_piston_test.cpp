#include "models/throat/vacuum_piston.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
const VacuumPiston<> piston;

double circle(double d) {
  return 0.25 * constants::pi * d * d;
}

/// Where a piston at rest floats, by bisection on its acceleration.
double static_lift(double p_below, double p_chamber, double p_throat) {
  double low = -0.005, high = piston.travel + 0.005;
  for (int i = 0; i < 100; ++i) {
    const double middle = 0.5 * (low + high);
    (piston_acceleration(piston, middle, 0.0, p_below, p_chamber, p_throat) > 0.0 ? low : high) = middle;
  }
  return 0.5 * (low + high);
}
}  // namespace

TEST_CASE("vacuum piston: a floating piston balances depression against weight and spring",
          "[models][throat][vacuum_piston][balance]") {
  const double weight = piston.mass * constants::g0;
  for (double share : {0.1, 0.5, 0.9}) {
    // Chamber at throat pressure: depression times diaphragm less slide carries the piston.
    const double lift = share * piston.travel;
    const double depression = (weight + piston.spring_preload + piston.spring_rate * lift) /
                              (circle(piston.diaphragm_diameter) - circle(piston.slide_diameter));
    const double p = 9e4;
    CHECK_THAT(static_lift(p, p - depression, p - depression),
               near(lift, absolute_error(1e-10, "rounding of 9e4 Pa")));
  }
}

TEST_CASE("vacuum piston: throat and chamber pressures act on their own areas",
          "[models][throat][vacuum_piston][exact]") {
  const auto force = [](double below, double chamber, double throat) {
    return piston.mass * piston_acceleration(piston, 0.01, 0.0, below, chamber, throat);
  };
  const double p = 9e4, still = force(p, p, p);
  const auto rounding = round_off(64, 300.0);
  CHECK_THAT(force(p + 100.0, p, p) - still,
             near(100.0 * (circle(piston.diaphragm_diameter) - circle(piston.slide_diameter)), rounding));
  CHECK_THAT(force(p, p, p + 100.0) - still, near(100.0 * circle(piston.slide_diameter), rounding));
  CHECK_THAT(force(p, p - 100.0, p) - still, near(100.0 * circle(piston.diaphragm_diameter), rounding));
  CHECK(still < 0.0);
}

TEST_CASE("vacuum piston: friction and damping oppose motion alike both ways",
          "[models][throat][vacuum_piston][symmetry]") {
  const auto a = [](double velocity) {
    return piston_acceleration(piston, 0.01, velocity, 9e4, 8.99e4, 9e4);
  };
  const double still = a(0.0);
  for (double v : {1e-3, 0.05, 1.0, 5.0}) {
    CHECK(a(v) < still);
    CHECK_THAT(a(v) - still, near(-(a(-v) - still), round_off(32, std::abs(still) + 100.0)));
  }
  CHECK_THAT((still - a(5.0)) * piston.mass, near(piston.guide_friction + 5.0 * piston.guide_damping,
                                                  relative(1e-5, "rounding of dry friction")));
  CHECK(never_rises(-1.0, 1.0, 2000, a));
  CHECK(kink_ratio(-0.2, 0.2, 500, a) < smooth_ratio);
}

TEST_CASE("vacuum piston: stops hold it within a fraction of a millimetre, without a jump",
          "[models][throat][vacuum_piston][continuity]") {
  CHECK(static_lift(9e4, 9e4, 9e4) > -1e-3);
  CHECK(static_lift(9e4, 9e4, 9e4) < 0.0);
  CHECK(static_lift(9e4, 8e4, 9e4) > piston.travel);
  CHECK(static_lift(9e4, 8e4, 9e4) < piston.travel + 2e-3);
  for (double velocity : {-1.0, 0.0, 1.0}) {
    const auto a = [&](double lift) { return piston_acceleration(piston, lift, velocity, 9e4, 8.99e4, 9e4); };
    CHECK(jump_ratio(-5e-4, 5e-4, 500, a) < smooth_ratio);
    CHECK(jump_ratio(piston.travel - 5e-4, piston.travel + 5e-4, 500, a) < smooth_ratio);
  }
}

TEST_CASE("vacuum piston: dropped on its stop it loses energy and comes to rest",
          "[models][throat][vacuum_piston][balance]") {
  double lift = 0.02, velocity = 0.0;
  const double dt = 2e-6, still = static_lift(9e4, 9e4, 9e4);
  double highest_return = 0.0;
  bool touched = false;
  for (int i = 0; i < 500000; ++i) {
    velocity += dt * piston_acceleration(piston, lift, velocity, 9e4, 9e4, 9e4);
    lift += dt * velocity;
    touched = touched || lift < 0.0;
    if (touched) highest_return = std::max(highest_return, lift);
  }
  CHECK(highest_return < 0.01);
  CHECK_THAT(lift, near(still, absolute_error(1e-6, "1 s of settling")));
}

TEST_CASE("vacuum piston: throat opens from its rest gap to the whole bore",
          "[models][throat][vacuum_piston][limit]") {
  const auto area = [](double lift) { return piston_throat_area(piston, lift); };
  CHECK_THAT(area(piston.slide_diameter), near(circle(piston.slide_diameter), round_off(32)));
  CHECK_THAT(area(0.5 * piston.slide_diameter - piston.rest_gap),
             near(0.5 * circle(piston.slide_diameter), round_off(64)));
  CHECK(area(-0.001) == area(0.0));
  CHECK(area(0.0) > 0.0);
  CHECK(never_falls(-0.001, 0.045, 2000, area));
  CHECK(jump_ratio(-0.001, 0.045, 500, area) < smooth_ratio);
  VacuumPiston<> shut = piston;
  shut.rest_gap = 0.0;
  CHECK(piston_throat_area(shut, 0.0) == 0.0);
}

TEST_CASE("vacuum piston: its chamber shrinks by what the diaphragm sweeps",
          "[models][throat][vacuum_piston][exact]") {
  CHECK_THAT(piston_chamber_volume(piston, piston.travel), near(piston.chamber_volume, round_off(4)));
  CHECK_THAT(piston_chamber_volume(piston, 0.0) - piston_chamber_volume(piston, 0.01),
             near(0.01 * circle(piston.diaphragm_diameter), round_off(16, 2e-4)));
}

TEST_CASE("vacuum piston: finite over all legal sizes", "[models][throat][vacuum_piston][limit]") {
  Random random(12);
  bool sound = true;
  for (int i = 0; i < 3000; ++i) {
    VacuumPiston<> p;
    p.mass = random.between(0.01, 0.2);
    p.spring_rate = random.between(0.0, 200.0);
    p.guide_friction = random.between(0.0, 5.0);
    p.rest_gap = random.between(0.0, 0.005);
    const double lift = random.between(-0.002, 0.040);
    sound =
        sound &&
        std::isfinite(piston_acceleration(p, lift, random.between(-10.0, 10.0), random.between(5e4, 1.1e5),
                                          random.between(5e4, 1.1e5), random.between(5e4, 1.1e5))) &&
        piston_throat_area(p, lift) >= 0.0;
  }
  CHECK(sound);
}

TEST_CASE("vacuum piston: units agree", "[models][throat][vacuum_piston][units]") {
  using namespace units;
  VacuumPiston<Dimensioned> other;
  other.slide_diameter = 0.038 * metre;
  other.rest_gap = 0.0012 * metre;
  other.diaphragm_diameter = 0.058 * metre;
  other.travel = 0.036 * metre;
  other.chamber_volume = 35e-6 * cubic_metre;
  CHECK(piston_throat_area(other, 0.01 * metre).dimension() == square_metre);
  CHECK(piston_chamber_volume(other, 0.01 * metre).dimension() == cubic_metre);
  other.mass = 0.045 * kilogram;
  other.spring_preload = 0.9 * newton;
  other.spring_rate = 30.0 * (newton / metre);
  other.guide_friction = 0.05 * newton;
  other.guide_damping = 0.6 * (newton / metre_per_second);
  other.stop_stiffness = 5e5 * (newton / metre);
  CHECK(piston_acceleration(other, 0.01 * metre, 0.1 * metre_per_second, 9.0e4 * pascal, 8.9e4 * pascal,
                            8.8e4 * pascal)
            .dimension() == acceleration);
}
