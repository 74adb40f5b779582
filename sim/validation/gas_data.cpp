#include <string>

#include "models/fluids/gas_mixture.hpp"
#include "models/gas/volume.hpp"
#include "sim/validation/solve.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

/// Temperature after liquid octane has burned at constant pressure without loss, air in given excess.
double flame_temperature(double air_share) {
  m::Fuel<> octane;
  octane.heating_value = 44.43e6;
  octane.stoichiometric_ratio = 15.13;
  const auto gas = m::make_gas_data(octane);
  const double air = air_share * octane.stoichiometric_ratio;
  const double before = m::enthalpy(gas, m::droplets, 298.15) + air * m::enthalpy(gas, m::air, 298.15);
  const double products = 1.0 + octane.stoichiometric_ratio;
  return find_root(
      [&](double T) {
        return products * m::enthalpy(gas, m::burned, T) +
               (air - octane.stoichiometric_ratio) * m::enthalpy(gas, m::air, T) - before;
      },
      300.0, 4000.0);
}

}  // namespace

void check_gas_data(std::vector<Row>& rows) {
  const m::Fuel<> fuel;
  const auto gas = m::make_gas_data(fuel);
  const std::string cengel = "Cengel & Boles, Thermodynamics";
  const double u300 = m::internal_energy(gas, m::air, 300.0);
  struct Energy {
    double T, u;
  };
  for (const Energy& e : {Energy{500, 359.49}, Energy{800, 592.30}, Energy{1000, 758.94},
                          Energy{1500, 1205.41}, Energy{2000, 1678.7}})
    rows.push_back(
        {"gas_mixture",
         "energy of air from 300 K to " + std::to_string(static_cast<int>(e.T)) + " K",
         {cengel, "table A-17", Seen::from_memory},
         e.u - 214.07,
         1e-3 * (m::internal_energy(gas, m::air, e.T) - u300),
         relative(0.01, "straight line for cv through two points of the table"),
         "kJ/kg",
         stated_if(e.T > 1400 && e.T < 1600,
                   "cv of air is curved between 300 and 2200 K; a line through the ends lies below "
                   "it in between",
                   0.015)});
  rows.push_back({"gas_mixture",
                  "heat capacity cp of air at 300 K",
                  {cengel, "table A-2", Seen::from_memory},
                  1.005,
                  1e-5 * (m::enthalpy(gas, m::air, 350.0) - m::enthalpy(gas, m::air, 250.0)),
                  relative(5e-3, "straight line for cv"),
                  "kJ/(kg K)",
                  {}});

  const double T = 298.15, s = fuel.stoichiometric_ratio;
  const std::string afdc = "US Department of Energy, Alternative Fuels Data Center, fuel properties";
  rows.push_back({"gas_mixture",
                  "heat of burning 1 kg of liquid fuel at 25 C and constant pressure",
                  {afdc, "gasoline, 18676 Btu/lb", Seen::in_source},
                  43.44,
                  1e-6 * (m::enthalpy(gas, m::droplets, T) + s * m::enthalpy(gas, m::air, T) -
                          (1.0 + s) * m::enthalpy(gas, m::burned, T)),
                  relative(1e-3, "printed digits"),
                  "MJ/kg",
                  {}});
  rows.push_back({"gas_mixture",
                  "heat of evaporating 1 kg at 25 C",
                  {afdc, "gasoline, about 150 Btu/lb", Seen::in_source},
                  349.0,
                  1e-3 * (m::enthalpy(gas, m::vapour, T) - m::enthalpy(gas, m::droplets, T)),
                  relative(0.03, "rounded in the table"),
                  "kJ/kg",
                  {}});
  rows.push_back({"gas_mixture",
                  "flame temperature of octane, theoretical air, complete combustion",
                  {cengel, "example on liquid octane in a gas turbine combustor", Seen::from_memory},
                  2395.0,
                  flame_temperature(1.0),
                  relative(0.02, "gasoline's products, straight line for cv"),
                  "K",
                  {}});
  rows.push_back({"gas_mixture",
                  "flame temperature of octane, 400 % theoretical air",
                  {cengel, "example on liquid octane in a gas turbine combustor", Seen::from_memory},
                  962.0,
                  flame_temperature(4.0),
                  relative(0.02, "gasoline's products, straight line for cv"),
                  "K",
                  {}});
  const auto filled = m::fill_volume(gas, 1.0, 101325.0, 288.15, {1.0, 0.0, 0.0, 0.0});
  rows.push_back({"volume",
                  "mass of air in 1 m3 at sea level",
                  {"ISO 2533:1975, Standard atmosphere (as US Standard Atmosphere 1976)", "density at 0 m",
                   Seen::in_source},
                  1.2250,
                  filled.mass[m::air],
                  relative(2e-5, "printed digits"),
                  "kg",
                  {}});
  rows.push_back({"volume",
                  "pressure recovered from its mass and energy",
                  {"ISO 2533:1975, Standard atmosphere (as US Standard Atmosphere 1976)", "pressure at 0 m",
                   Seen::in_source},
                  101325.0,
                  m::evaluate_volume(gas, filled, 1.0).pressure,
                  relative(1e-9, "round-off"),
                  "Pa",
                  {}});
}

}  // namespace glassbowl::validation
