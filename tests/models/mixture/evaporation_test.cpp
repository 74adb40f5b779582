#include "models/mixture/evaporation.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "models/constants.hpp"
#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
const Fuel<> fuel;
const double R = constants::gas_constant / fuel.vapour_molar_mass;
const double V = 3e-4, tau = 4e-3;

double rate(double droplets_mass, double vapour_mass, double T) {
  return evaporation_rate(fuel, droplets_mass, vapour_mass, T, 1.0 / V, R, 1.0 / tau);
}

/// Vapour that is in equilibrium with liquid, of a given mass of fuel.
double equilibrium_vapour(double fuel_mass, double T) {
  double low = 0.0, high = fuel_mass;
  for (int i = 0; i < 200; ++i) {
    const double m = 0.5 * (low + high);
    (vapour_pressure(fuel, T, m / fuel_mass) > m * R * T / V ? low : high) = m;
  }
  return 0.5 * (low + high);
}
}  // namespace

TEST_CASE("evaporation: without fuel nothing changes", "[models][mixture][evaporation][zero]") {
  CHECK(rate(0.0, 0.0, 300.0) == 0.0);
}

TEST_CASE("evaporation: droplets alone evaporate, cold vapour condenses",
          "[models][mixture][evaporation][limit]") {
  CHECK(rate(1e-6, 0.0, 300.0) > 0.0);
  CHECK_THAT(rate(1e-6, 0.0, 300.0), near(1e-6 / tau, relative(1e-8, "guard against no fuel")));
  CHECK(rate(0.0, 1e-4, 250.0) < 0.0);
  // Warm dry vapour has nothing to evaporate.
  CHECK(rate(0.0, 1e-6, 330.0) == 0.0);
}

TEST_CASE("evaporation: stands still at equilibrium and returns to it from both sides",
          "[models][mixture][evaporation][exact]") {
  for (double T : {250.0, 280.0, 310.0}) {
    const double m = 1e-3, v = equilibrium_vapour(m, T);
    REQUIRE(v > 0.0);
    REQUIRE(v < 0.999 * m);
    CHECK_THAT(rate(m - v, v, T), near(0.0, round_off(2000, m / tau)));
    CHECK(rate(m - 0.95 * v, 0.95 * v, T) > 0.0);
    CHECK(rate(m - 1.05 * v, 1.05 * v, T) < 0.0);
  }
}

TEST_CASE("evaporation: passes equilibrium without a jump, falls as vapour gathers",
          "[models][mixture][evaporation][continuity]") {
  const double m = 1e-3;
  const auto f = [&](double v) { return rate(m - v, v, 280.0); };
  CHECK(never_rises(0.0, m, 1000, f));
  CHECK(jump_ratio(0.0, m, 500, f) < smooth_ratio);
  CHECK(jump_ratio(800.0, 1000.0, 500, [](double T) { return rate(1e-6, 1e-7, T); }) < smooth_ratio);
}

TEST_CASE("evaporation: speeds up by the cube of temperature up to 900 K, then holds",
          "[models][mixture][evaporation][limit]") {
  CHECK_THAT(rate(1e-9, 0.0, 600.0) / rate(1e-9, 0.0, 300.0),
             near(8.0, relative(1e-5, "guard against no fuel")));
  CHECK_THAT(rate(1e-9, 0.0, 2000.0), near(rate(1e-9, 0.0, 900.0), round_off(16)));
  CHECK(never_falls(
      250.0, 1200.0, 500, [](double T) { return rate(1e-6, 0.0, T); }, 1e-18));
}

TEST_CASE("evaporation: finite, and never faster than its masses allow, over all states",
          "[models][mixture][evaporation][limit]") {
  Random random(17);
  bool sound = true;
  for (int i = 0; i < 5000; ++i) {
    const double d = random.over_decades(1e-14, 1e-3), v = random.over_decades(1e-14, 1e-3);
    const double T = random.between(230.0, 3000.0);
    const double warm = std::min(T, 900.0) / 300.0, fastest = warm * warm * warm / tau * (1.0 + 1e-12);
    const double r = evaporation_rate(fuel, d, v, T, 1.0 / random.over_decades(1e-5, 1e-2), R, 1.0 / tau);
    sound = sound && r <= d * fastest && r >= -v * fastest;
  }
  CHECK(sound);
}

TEST_CASE("evaporation: units agree", "[models][mixture][evaporation][units]") {
  using namespace units;
  Fuel<Dimensioned> other;
  other.boiling_first = 331.0 * kelvin;
  other.boiling_linear = 68.0 * kelvin;
  other.boiling_last = 19.0 * kelvin;
  other.vaporisation_slope = 4210.0 * kelvin;
  const auto rate =
      evaporation_rate(other, 1e-6 * kilogram, 2e-6 * kilogram, 320.0 * kelvin, 1e3 * (one / cubic_metre),
                       R * joule_per_kilogram_kelvin, 100.0 * (one / second));
  CHECK(rate.dimension() == mass_flow);
}
