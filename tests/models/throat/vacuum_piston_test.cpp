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

TEST_CASE("vacuum piston: one that sticks stays where it is until the force exceeds its friction",
          "[models][throat][vacuum_piston][limit]") {
  const double area = circle(piston.diaphragm_diameter);
  // Moves from rest at 10 mm under `net` [N] beyond weight and spring, with steps of 50 µs, for 4 s [m].
  const auto moved = [&](double friction, double net) {
    VacuumPiston<> p = piston;
    p.guide_friction = friction;
    const double held = p.mass * constants::g0 + p.spring_preload + p.spring_rate * 0.010;
    double lift = 0.010, velocity = 0.0;
    const double dt = 5e-5, chamber = 9e4 - (held + net) / area;
    for (int i = 0; i < 80000; ++i) {
      velocity += dt * piston_acceleration(p, lift, velocity, 9e4, chamber, 9e4, 1e-4);
      lift += dt * velocity;
    }
    return lift - 0.010;
  };
  CHECK(std::abs(moved(20.0, 3.0)) < 0.1e-3);
  CHECK(std::abs(moved(20.0, -1.0)) < 0.1e-3);
  CHECK(std::abs(moved(2.0, 1.0)) < 0.3e-3);
  // Beyond its friction it slides, and comes to rest where the spring has taken up the net force to within
  // the friction: between (2.4 - 2) N / k and the upper stop.
  CHECK(moved(2.0, 2.4) > 0.98 * 0.4 / piston.spring_rate);
  CHECK(moved(2.0, 2.4) < piston.travel - 0.010);
  // A small friction is shaken loose by the engine: it ends where weight and spring balance.
  CHECK_THAT(moved(0.05, 0.3), near(0.3 / piston.spring_rate, absolute_error(1e-4, "4 s of settling")));
  CHECK_THAT(moved(0.0, 0.3), near(0.3 / piston.spring_rate, absolute_error(1e-4, "4 s of settling")));
}

TEST_CASE("vacuum piston: a torn diaphragm holds less, and past a size nothing lifts the piston",
          "[models][throat][vacuum_piston][limit]") {
  // A tear beside the vents puts the chamber at the share t² / (t² + v²) of the way back to the inlet, so the
  // lifting force is Δ (A_d (1 - share) - A_s): none from t = v √(A_d/A_s - 1) on.
  const double A_d = circle(piston.diaphragm_diameter), A_s = circle(piston.slide_diameter);
  const double vents = piston.vent_count * circle(piston.vent_diameter);
  const auto lifting = [&](double tear, double depression) {
    const double share = tear * tear / (tear * tear + vents * vents);
    const double throat = 9e4 - depression, chamber = throat + share * depression;
    return piston.mass * (piston_acceleration(piston, 0.01, 0.0, 9e4, chamber, throat) -
                          piston_acceleration(piston, 0.01, 0.0, 9e4, 9e4, 9e4));
  };
  const double whole = 2000.0 * (A_d - A_s), last = vents * std::sqrt(A_d / A_s - 1.0);
  CHECK_THAT(lifting(0.0, 2000.0), near(whole, relative(1e-9, "round-off of forces")));
  CHECK_THAT(last, near(8.767e-6, relative(1e-3, "worked out by hand")));
  CHECK(lifting(0.9 * last, 2000.0) > 0.0);
  CHECK_THAT(lifting(last, 2000.0) / whole, near(0.0, absolute_error(1e-9, "round-off of forces")));
  CHECK(lifting(2.0 * last, 2000.0) < 0.0);
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
                            8.8e4 * pascal, 1e-4 * second)
            .dimension() == acceleration);
}
