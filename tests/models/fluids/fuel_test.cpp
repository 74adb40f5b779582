#include "models/fluids/fuel.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

TEST_CASE("fuel: data at 20 °C come back as given", "[models][fluids][fuel][exact]") {
  const Fuel<> fuel;
  CHECK(liquid_density(fuel, 293.15) == fuel.density_20);
  CHECK(liquid_kinematic_viscosity(fuel, 293.15) == fuel.kinematic_viscosity_20);
}

TEST_CASE("fuel: warm fuel is lighter and thinner", "[models][fluids][fuel][limit]") {
  const Fuel<> fuel;
  CHECK(never_rises(250.0, 330.0, 100, [&](double T) { return liquid_density(fuel, T); }));
  CHECK(never_rises(250.0, 330.0, 100, [&](double T) { return liquid_kinematic_viscosity(fuel, T); }));
  CHECK_THAT(liquid_density(fuel, 303.15) - fuel.density_20,
             near(10.0 * fuel.density_slope, round_off(4, fuel.density_20)));
}

TEST_CASE("fuel: vapour pressure is one atmosphere along the boiling curve",
          "[models][fluids][fuel][exact]") {
  const Fuel<> fuel;
  for (double f : {0.0, 0.25, 0.6, 1.0}) {
    const double boiling =
        fuel.boiling_first + fuel.boiling_linear * f + fuel.boiling_last * std::pow(f, 5.0);
    CHECK_THAT(vapour_pressure(fuel, boiling, f), near(101325.0, round_off(64)));
  }
}

TEST_CASE("fuel: vapour pressure rises with warmth and falls as the light parts leave",
          "[models][fluids][fuel][limit]") {
  const Fuel<> fuel;
  for (double f : {0.0, 0.5, 1.0})
    CHECK(never_falls(230.0, 450.0, 200, [&](double T) { return vapour_pressure(fuel, T, f); }));
  for (double T : {250.0, 300.0, 400.0})
    CHECK(never_rises(0.0, 1.0, 200, [&](double f) { return vapour_pressure(fuel, T, f); }));
  // Clausius and Clapeyron: ln p falls along 1/T at the given slope.
  const double slope = std::log(vapour_pressure(fuel, 320.0, 0.3) / vapour_pressure(fuel, 290.0, 0.3)) /
                       (1.0 / 320.0 - 1.0 / 290.0);
  CHECK_THAT(slope, near(-fuel.vaporisation_slope,
                         relative(1e-11, "twice the exponential's stated error over ln p's change of 1.4")));
}

TEST_CASE("fuel: units agree", "[models][fluids][fuel][units]") {
  using namespace units;
  Fuel<Dimensioned> fuel;
  fuel.boiling_first = 335.0 * kelvin;
  fuel.boiling_linear = 60.0 * kelvin;
  fuel.boiling_last = 19.0 * kelvin;
  fuel.vaporisation_slope = 4210.0 * kelvin;
  CHECK(vapour_pressure(fuel, 300.0 * kelvin, Dimensioned(0.5)).dimension() == pascal);
}
