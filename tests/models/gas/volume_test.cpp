#include "models/gas/volume.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {

PerSpecies<double> random_composition(Random& random) {
  PerSpecies<double> f{random.between(0.1, 1.0), random.between(0.0, 0.1), random.between(0.0, 0.1),
                       random.between(0.0, 1.0)};
  const double sum = f[0] + f[1] + f[2] + f[3];
  for (double& x : f) x /= sum;
  return f;
}

/// Σ m_i u_i(T), the energy anew from the temperature found.
double energy_at(const GasData<double>& data, const PerSpecies<double>& mass, double T) {
  double U = 0.0;
  for (std::size_t i = 0; i < species_count; ++i)
    U += mass[i] * internal_energy(data, static_cast<Species>(i), T);
  return U;
}

}  // namespace

TEST_CASE("volume: filling and evaluating returns pressure, temperature and composition",
          "[models][gas][volume][exact]") {
  const auto data = make_gas_data(Fuel<>{});
  Random random(5);
  double worst = 0.0;
  for (int i = 0; i < 2000; ++i) {
    const double V = random.over_decades(1e-6, 1e-2), p = random.over_decades(1e4, 1e7);
    const double T = random.between(230.0, 3000.0);
    const auto fraction = random_composition(random);
    const auto gas = evaluate_volume(data, fill_volume(data, V, p, T, fraction), V);
    worst = std::max({worst, std::abs(gas.pressure / p - 1.0), std::abs(gas.temperature / T - 1.0)});
    for (std::size_t k = 0; k < species_count; ++k)
      worst = std::max(worst, std::abs(gas.fraction[k] - fraction[k]));
    if (std::isnan(gas.temperature)) worst = 1.0;
  }
  // Fuel's chemical energy is up to 40 times the thermal energy that the temperature is found from.
  CHECK_THAT(worst, near(0.0, round_off(2000, 1.0)));
}

TEST_CASE("volume: density, enthalpy and fractions belong together", "[models][gas][volume][balance]") {
  const auto data = make_gas_data(Fuel<>{});
  const double V = 5e-4;
  const auto state = fill_volume(data, V, 9e4, 320.0, {0.80, 0.04, 0.02, 0.14});
  const auto gas = evaluate_volume(data, state, V);
  const double m = state.mass[0] + state.mass[1] + state.mass[2] + state.mass[3];
  CHECK_THAT(gas.density * V, near(m, round_off(4)));
  CHECK_THAT(gas.enthalpy * m, near(state.energy + gas.pressure * V, round_off(8)));
  CHECK_THAT(gas.fraction[0] + gas.fraction[1] + gas.fraction[2] + gas.fraction[3], near(1.0, round_off(4)));
}

TEST_CASE("volume: burning without heat or work keeps the energy and heats the gas",
          "[models][gas][volume][balance]") {
  const Fuel<> fuel;
  const auto data = make_gas_data(fuel);
  const double V = 6e-5;
  auto state = fill_volume(data, V, 1.5e6, 650.0, {0.93, 0.06, 0.0, 0.01});
  const auto before = evaluate_volume(data, state, V);
  const double energy = state.energy;
  double T = before.temperature;
  for (int i = 0; i < 10; ++i) {
    const double burning = 0.1 * 0.06 / 0.99 * state.mass[air];
    state.mass[vapour] -= burning;
    state.mass[air] -= fuel.stoichiometric_ratio * burning;
    state.mass[burned] += (1.0 + fuel.stoichiometric_ratio) * burning;
    const auto after = evaluate_volume(data, state, V);
    CHECK_THAT(energy_at(data, state.mass, after.temperature), near(energy, round_off(64, 100.0)));
    CHECK(after.temperature > T);
    CHECK_THAT(after.density, near(before.density, round_off(32)));
    T = after.temperature;
  }
  CHECK(T > 2000.0);
  CHECK(T < 3500.0);
}

TEST_CASE("volume: droplets that evaporate cool the gas and raise its gas constant",
          "[models][gas][volume][balance]") {
  const auto data = make_gas_data(Fuel<>{});
  const double V = 3e-4;
  auto state = fill_volume(data, V, 9e4, 310.0, {0.93, 0.0, 0.07, 0.0});
  const auto before = evaluate_volume(data, state, V);
  std::swap(state.mass[vapour], state.mass[droplets]);
  const auto after = evaluate_volume(data, state, V);
  CHECK(after.temperature < before.temperature - 15.0);
  CHECK(after.temperature > before.temperature - 40.0);
  CHECK_THAT(energy_at(data, state.mass, after.temperature), near(state.energy, round_off(64, 1000.0)));
}

TEST_CASE("volume: twice the gas in twice the room is the same gas", "[models][gas][volume][symmetry]") {
  const auto data = make_gas_data(Fuel<>{});
  auto state = fill_volume(data, 1e-3, 8e4, 400.0, {0.9, 0.05, 0.01, 0.04});
  const auto one = evaluate_volume(data, state, 1e-3);
  for (double& m : state.mass) m *= 2.0;
  state.energy *= 2.0;
  const auto two = evaluate_volume(data, state, 2e-3);
  CHECK(two.pressure == one.pressure);
  CHECK(two.temperature == one.temperature);
  CHECK(two.enthalpy == one.enthalpy);
}

TEST_CASE("volume: outside air has the state it is given", "[models][gas][volume][exact]") {
  const auto data = make_gas_data(Fuel<>{});
  const auto gas = boundary_gas(data, 73000.0, 271.0, {1.0, 0.0, 0.0, 0.0});
  CHECK_THAT(gas.pressure, near(73000.0, round_off(16)));
  CHECK_THAT(gas.temperature, near(271.0, round_off(16)));
  CHECK_THAT(gas.density, near(73000.0 / (constants::R_air * 271.0), round_off(16)));
  CHECK_THAT(gas.enthalpy, near(enthalpy(data, air, 271.0), round_off(16)));
}

TEST_CASE("volume: NaN in, NaN out", "[models][gas][volume][limit]") {
  const auto data = make_gas_data(Fuel<>{});
  auto state = fill_volume(data, 1e-3, 8e4, 400.0, {1.0, 0.0, 0.0, 0.0});
  state.energy = std::nan("");
  CHECK(std::isnan(evaluate_volume(data, state, 1e-3).pressure));
}

TEST_CASE("volume: units agree", "[models][gas][volume][units]") {
  using namespace units;
  GasData<Dimensioned> data;
  PerSpecies<Dimensioned> fraction;
  for (std::size_t i = 0; i < species_count; ++i) {
    data.R[i] = 287.0 * joule_per_kilogram_kelvin;
    data.q[i] = 1e5 * joule_per_kilogram;
    data.a[i] = 700.0 * joule_per_kilogram_kelvin;
    data.b[i] = 0.2 * (joule_per_kilogram_kelvin / kelvin);
    fraction[i] = 0.25 * one;
  }
  const auto state = fill_volume(data, 1e-3 * cubic_metre, 1e5 * pascal, 300.0 * kelvin, fraction);
  CHECK(state.mass[air].dimension() == kilogram);
  CHECK(state.energy.dimension() == joule);
  const auto gas = evaluate_volume(data, state, 1e-3 * cubic_metre);
  CHECK(gas.pressure.dimension() == pascal);
  CHECK(gas.temperature.dimension() == kelvin);
  CHECK(gas.density.dimension() == density);
  CHECK(gas.enthalpy.dimension() == joule_per_kilogram);
  CHECK(gas.fraction[air].dimension() == one);
}
