#include "models/throat/throttle_plate.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
const ThrottlePlate<> plate;

/// Share of the bore's section outside plate and shaft as they project along the bore, by summing strips
/// across the shaft's direction.
double open_share(const ThrottlePlate<>& p, double psi) {
  const double r = 0.5 * p.bore, squeeze = std::cos(psi) / std::cos(p.closed_angle);
  const int n = 20000;
  double open = 0.0;
  for (int i = 0; i < n; ++i) {
    const double x = r * (-1.0 + (2.0 * i + 1.0) / n);  // along the shaft
    const double wall = std::sqrt(r * r - x * x);
    const double covered = std::min(wall, std::max(wall * squeeze, 0.5 * p.shaft));
    open += 2.0 * (wall - covered) * 2.0 * r / n;
  }
  return open / (constants::pi * r * r);
}
}  // namespace

TEST_CASE("throttle plate: shut it leaves its leak alone", "[models][throat][throttle_plate][zero]") {
  CHECK_THAT(throttle_open_fraction(plate, plate.closed_angle), near(0.0, round_off(16, 1.0)));
  CHECK_THAT(throttle_effective_area(plate, plate.closed_angle),
             near(plate.contraction * plate.leak_area, round_off(64, 1e-3)));
  CHECK_THAT(throttle_edge_gap(plate, plate.closed_angle), near(0.0, round_off(4, plate.bore)));
  CHECK(throttle_open_fraction(plate, 0.0) == 0.0);
  CHECK(throttle_edge_gap(plate, 0.0) == 0.0);
}

TEST_CASE("throttle plate: open area is what plate and shaft leave of the bore",
          "[models][throat][throttle_plate][exact]") {
  for (double shaft : {0.0, 0.004, 0.008, 0.012})
    for (double psi : {0.2, 0.5, 0.9, 1.2, 1.35, 1.5, 1.5707}) {
      ThrottlePlate<> p;
      p.shaft = shaft;
      INFO("shaft " << shaft << " angle " << psi);
      CHECK_THAT(throttle_open_fraction(p, psi),
                 near(open_share(p, psi), absolute_error(2e-6, "20,000 strips")));
    }
}

TEST_CASE("throttle plate: wide open the shaft alone stands in the bore",
          "[models][throat][throttle_plate][limit]") {
  ThrottlePlate<> bare = plate;
  bare.shaft = 0.0;
  CHECK_THAT(throttle_open_fraction(bare, 0.5 * constants::pi),
             near(1.0, absolute_error(2e-9, "guard at 90 deg")));
  CHECK(throttle_open_fraction(plate, 0.5 * constants::pi) < 1.0 - plate.shaft / plate.bore);
}

TEST_CASE("throttle plate: opening adds area without jump, also where the shaft takes over",
          "[models][throat][throttle_plate][continuity]") {
  for (double shaft : {0.0, 0.008}) {
    ThrottlePlate<> p;
    p.shaft = shaft;
    const auto area = [&](double psi) { return throttle_effective_area(p, psi); };
    CHECK(never_falls(0.0, 1.5708, 5000, area, 1e-17));
    CHECK(jump_ratio(0.0, 1.5708, 1000, area) < smooth_ratio);
  }
  // Where the plate's edge has gone behind the shaft, only the shaft counts.
  const double a = plate.shaft / plate.bore;
  const double hidden = std::acos(a * std::cos(plate.closed_angle));
  const auto fraction = [](double psi) { return throttle_open_fraction(plate, psi); };
  CHECK(jump_ratio(hidden - 0.01, hidden + 0.01, 200, fraction) < smooth_ratio);
  CHECK(fraction(hidden + 0.01) == fraction(1.57));
}

TEST_CASE("throttle plate: the edge sweeps upstream as the gap widens",
          "[models][throat][throttle_plate][limit]") {
  CHECK(throttle_edge_position(plate, 0.0) == 0.0);
  CHECK(never_falls(0.0, 1.57, 500, [](double psi) { return throttle_edge_position(plate, psi); }));
  CHECK(never_falls(0.0, 1.57, 500, [](double psi) { return throttle_edge_gap(plate, psi); }));
  // Edge and gap lie on the plate: position² + (radius - gap)² is the plate's half length squared.
  const double half = 0.5 * plate.bore / std::cos(plate.closed_angle);
  for (double psi : {0.2, 0.6, 1.1}) {
    const double along = throttle_edge_position(plate, psi);
    const double across = 0.5 * plate.bore - throttle_edge_gap(plate, psi);
    CHECK_THAT(along * along + across * across, near(half * half, round_off(16)));
  }
}

TEST_CASE("throttle plate: finite and not negative over all legal sizes",
          "[models][throat][throttle_plate][limit]") {
  Random random(9);
  bool sound = true;
  for (int i = 0; i < 3000; ++i) {
    ThrottlePlate<> p;
    p.bore = random.between(0.015, 0.06);
    p.shaft = random.between(0.0, 0.4) * p.bore;
    p.closed_angle = random.between(0.0, 0.35);
    p.contraction = random.between(0.55, 0.9);
    const double psi = random.between(p.closed_angle, 0.5 * constants::pi);
    const double f = throttle_open_fraction(p, psi), area = throttle_effective_area(p, psi);
    sound = sound && f >= 0.0 && f <= 1.0 && area > 0.0 && std::isfinite(area) &&
            throttle_edge_gap(p, psi) >= 0.0;
  }
  CHECK(sound);
}

TEST_CASE("throttle plate: units agree", "[models][throat][throttle_plate][units]") {
  using namespace units;
  ThrottlePlate<Dimensioned> other;
  other.bore = 0.036 * metre;
  other.shaft = 0.008 * metre;
  other.leak_area = 4e-7 * square_metre;
  CHECK(throttle_open_fraction(other, 0.5 * one).dimension() == one);
  CHECK(throttle_effective_area(other, 0.5 * one).dimension() == square_metre);
  CHECK(throttle_edge_position(other, 0.5 * one).dimension() == metre);
  CHECK(throttle_edge_gap(other, 0.5 * one).dimension() == metre);
}
