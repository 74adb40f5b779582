#include "models/fluids/gas_mixture.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
const Species all_species[] = {air, vapour, droplets, burned};
}

TEST_CASE("gas mixture: internal energy is the integral of cv, enthalpy adds R T",
          "[models][fluids][gas_mixture][balance]") {
  const auto gas = make_gas_data(Fuel<>{});
  for (Species s : all_species)
    for (double T : {250.0, 400.0, 1500.0, 2800.0}) {
      const double slope = (internal_energy(gas, s, T + 1.0) - internal_energy(gas, s, T - 1.0)) / 2.0;
      const double size = std::abs(internal_energy(gas, s, T));
      CHECK_THAT(slope, near(gas.a[s] + gas.b[s] * T, round_off(8, size)));  // exact for a parabola
      CHECK_THAT(enthalpy(gas, s, T) - internal_energy(gas, s, T), near(gas.R[s] * T, round_off(4, size)));
    }
}

TEST_CASE("gas mixture: burning releases the heating value, evaporation takes the latent heat",
          "[models][fluids][gas_mixture][balance]") {
  for (double ratio : {14.6, 14.1, 9.0}) {
    Fuel<> fuel;
    fuel.stoichiometric_ratio = ratio;
    const auto gas = make_gas_data(fuel);
    const double T = constants::T_reference;
    const double liquid = enthalpy(gas, droplets, T), size = 10.0 * fuel.heating_value;
    const double products = (1.0 + ratio) * enthalpy(gas, burned, T);
    CHECK_THAT(liquid + ratio * enthalpy(gas, air, T) - products,
               near(fuel.heating_value, round_off(8, size)));
    CHECK_THAT(enthalpy(gas, vapour, T) - liquid, near(fuel.latent_heat, round_off(8, size)));
  }
}

TEST_CASE("gas mixture: droplets take no room", "[models][fluids][gas_mixture][exact]") {
  CHECK(make_gas_data(Fuel<>{}).R[droplets] == 0.0);
}

TEST_CASE("gas mixture: units agree", "[models][fluids][gas_mixture][units]") {
  using namespace units;
  GasData<Dimensioned> gas;
  for (Species s : all_species) {
    gas.R[s] = 287.0 * joule_per_kilogram_kelvin;
    gas.q[s] = 1e5 * joule_per_kilogram;
    gas.a[s] = 700.0 * joule_per_kilogram_kelvin;
    gas.b[s] = 0.2 * (joule_per_kilogram_kelvin / kelvin);
    CHECK(internal_energy(gas, s, 300.0 * kelvin).dimension() == joule_per_kilogram);
    CHECK(enthalpy(gas, s, 300.0 * kelvin).dimension() == joule_per_kilogram);
  }
}
