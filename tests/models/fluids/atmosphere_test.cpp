#include "models/fluids/atmosphere.hpp"

#include <catch2/catch.hpp>

#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

TEST_CASE("atmosphere: sea level is the reference state, a warm day shifts temperature alone",
          "[models][fluids][atmosphere][exact]") {
  const auto sea = standard_atmosphere(0.0);
  CHECK(sea.pressure == constants::p_sea_level);
  CHECK(sea.temperature == constants::T_sea_level);
  CHECK(sea.humidity == 0.0);
  const auto warm = standard_atmosphere(1500.0, 15.0), standard = standard_atmosphere(1500.0);
  CHECK(warm.pressure == standard.pressure);
  CHECK_THAT(warm.temperature - standard.temperature, near(15.0, round_off(2, 300.0)));
}

TEST_CASE("atmosphere: pressure balances the weight of the air", "[models][fluids][atmosphere][balance]") {
  for (double H : {0.0, 400.0, 2700.0, 8000.0}) {
    const auto here = standard_atmosphere(H);
    const double slope =
        (standard_atmosphere(H + 1.0).pressure - standard_atmosphere(H - 1.0).pressure) / 2.0;
    const double weight = here.pressure / (constants::R_air * here.temperature) * constants::g0;
    CHECK_THAT(slope, near(-weight, relative(2e-8, "central difference over 2 m and rounding")));
  }
}

TEST_CASE("atmosphere: dry air is the limit of moist air, and moisture makes it lighter",
          "[models][fluids][atmosphere][limit]") {
  const double T = 303.15, p = 1e5;
  CHECK(moist_air_water_fraction(0.0, T, p) == 0.0);
  CHECK(moist_air_density(0.0, T, p) == p / (constants::R_air * T));
  CHECK(never_falls(0.0, 1.0, 50, [&](double h) { return moist_air_water_fraction(h, T, p); }));
  CHECK(never_rises(0.0, 1.0, 50, [&](double h) { return moist_air_density(h, T, p); }));
  CHECK(moist_air_density(1.0, T, p) < 0.99 * moist_air_density(0.0, T, p));
  CHECK(never_falls(240.0, 323.0, 200, [](double t) { return water_saturation_pressure(t); }));
}

TEST_CASE("atmosphere: a gas twice as hot is more viscous than the root law, less than the line",
          "[models][fluids][atmosphere][limit]") {
  const double ratio = air_viscosity(600.0) / air_viscosity(300.0);
  CHECK(ratio > std::sqrt(2.0));
  CHECK(ratio < 2.0);
  // Far above Sutherland's constant the law is the root law.
  CHECK_THAT(air_viscosity(4e6) / air_viscosity(1e6), near(2.0, relative(1e-4, "110 K over 1e6 K")));
}

TEST_CASE("atmosphere: sound numbers over all weathers", "[models][fluids][atmosphere][limit]") {
  Random random(1);
  bool sound = true;
  for (int i = 0; i < 2000; ++i) {
    const auto a = standard_atmosphere(random.between(-400.0, 6000.0), random.between(-25.0, 25.0));
    const double humidity = random.between(0.0, 1.0);
    const double w = moist_air_water_fraction(humidity, a.temperature, a.pressure);
    const double rho = moist_air_density(humidity, a.temperature, a.pressure);
    sound = sound && a.pressure > 4e4 && a.pressure < 1.1e5 && w >= 0.0 && w < 0.1 && rho > 0.5 && rho < 1.6;
  }
  CHECK(sound);
}
