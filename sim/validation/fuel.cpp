#include "models/fluids/fuel.hpp"

#include <cmath>

#include "models/fuel/jet.hpp"
#include "sim/validation/solve.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;

void check_fuel(std::vector<Row>& rows) {
  const m::Fuel<> fuel;
  const std::string afdc = "US Department of Energy, Alternative Fuels Data Center, fuel properties";
  const auto table = [&](const char* row) { return Source{afdc, row, Seen::in_source}; };

  const auto density = in_range(719.0, 779.0);
  rows.push_back({"fuel",
                  "density at 15.6 C",
                  table("gasoline, specific gravity 0.72 to 0.78"),
                  density.middle,
                  m::liquid_density(fuel, 288.75),
                  density.tolerance,
                  "kg/m3",
                  {}});
  const auto warm = in_range(0.5, 0.6), cold = in_range(0.8, 1.0), dynamic = in_range(0.37, 0.44);
  rows.push_back({"fuel",
                  "kinematic viscosity at 20 C",
                  table("gasoline"),
                  warm.middle,
                  1e6 * m::liquid_kinematic_viscosity(fuel, 293.15),
                  warm.tolerance,
                  "mm2/s",
                  {}});
  rows.push_back({"fuel",
                  "kinematic viscosity at -20 C",
                  table("gasoline"),
                  cold.middle,
                  1e6 * m::liquid_kinematic_viscosity(fuel, 253.15),
                  cold.tolerance,
                  "mm2/s",
                  {}});
  rows.push_back({"fuel",
                  "dynamic viscosity at 15.6 C",
                  table("gasoline"),
                  dynamic.middle,
                  1e3 * m::liquid_kinematic_viscosity(fuel, 288.75) * m::liquid_density(fuel, 288.75),
                  dynamic.tolerance,
                  "mPa s",
                  {}});
  rows.push_back({"fuel",
                  "viscosity ratio between -20 and 20 C, middles of the ranges",
                  table("gasoline"),
                  0.9 / 0.55,
                  m::liquid_kinematic_viscosity(fuel, 253.15) / m::liquid_kinematic_viscosity(fuel, 293.15),
                  relative(5e-3, "law drawn through the two middles"),
                  "-",
                  {}});
  rows.push_back(
      {"fuel",
       "viscosity ratio between 40 and 20 C, as iso-octane",
       {"Perry's Chemical Engineers' Handbook, 8th ed.", "table 2-313, iso-octane", Seen::in_source},
       0.5922 / 0.7293,
       m::liquid_kinematic_viscosity(fuel, 313.15) / m::liquid_kinematic_viscosity(fuel, 293.15),
       relative(0.03, "gasoline is not iso-octane"),
       "-",
       {}});
  rows.push_back(
      {"fuel",
       "fall of density per kelvin over density at 20 C",
       {"API Manual of Petroleum Measurement Standards, ch. 11.1", "gasoline", Seen::from_memory},
       1.2e-3,
       (m::liquid_density(fuel, 293.15) - m::liquid_density(fuel, 303.15)) / 10.0 / fuel.density_20,
       relative(0.04, "printed digits"),
       "1/K",
       {}});
  rows.push_back({"fuel",
                  "lower heating value",
                  table("gasoline, 18676 Btu/lb"),
                  43.44,
                  1e-6 * fuel.heating_value,
                  relative(1e-3, "printed digits"),
                  "MJ/kg",
                  {}});
  rows.push_back({"fuel",
                  "latent heat",
                  table("gasoline, about 150 Btu/lb"),
                  349.0,
                  1e-3 * fuel.latent_heat,
                  relative(0.03, "rounded in the table"),
                  "kJ/kg",
                  {}});
  rows.push_back({"fuel",
                  "stoichiometric air-fuel ratio",
                  table("gasoline"),
                  14.7,
                  fuel.stoichiometric_ratio,
                  relative(0.01, "hydrogen content of blends: 14.5 to 14.7"),
                  "-",
                  {}});
  rows.push_back({"fuel",
                  "stoichiometric air-fuel ratio of CH1.87",
                  {"Heywood, Internal Combustion Engine Fundamentals, 1988", "eq. 3.6", Seen::computed},
                  14.60,
                  fuel.stoichiometric_ratio,
                  absolute(0.005, "printed digits"),
                  "-",
                  {}});
  const auto tension = in_range(18.40, 28.52);
  rows.push_back({"fuel",
                  "surface tension, between hexane and toluene at 20 C",
                  {"Jasper, J. Phys. Chem. Ref. Data 1, 1972", "hexane and toluene", Seen::in_source},
                  tension.middle,
                  1e3 * fuel.surface_tension,
                  tension.tolerance,
                  "mN/m",
                  {}});
  rows.push_back(
      {"fuel",
       "molar heat of vaporisation",
       {"Abernathy & Brown 2016, vapour pressure of gasoline", "87 octane, 19 to 69 C", Seen::in_source},
       35.1,
       // slope of ln p over 1/T, times the gas constant
       8.314462618e-3 *
           std::log(m::vapour_pressure(fuel, 342.15, 0.0) / m::vapour_pressure(fuel, 292.15, 0.0)) /
           (1.0 / 292.15 - 1.0 / 342.15),
       relative(0.02, "other samples 35.4 and 37.3"),
       "kJ/mol",
       {}});

  // Warming the fuel from 20 to 40 C at Re 1000, l/d 3.
  const m::Jet<> jet{0.5e-3, 1.5e-3, 0.0, 0.0};
  const auto flow = [&](double T, double drop) {
    return m::jet_flow(jet, drop, m::liquid_density(fuel, T), m::liquid_kinematic_viscosity(fuel, T));
  };
  const double drop = find_root(
      [&](double dp) {
        return jet.bore / m::liquid_kinematic_viscosity(fuel, 293.15) *
                   std::sqrt(2.0 * dp / m::liquid_density(fuel, 293.15)) -
               1000.0;
      },
      1.0, 1e5);
  rows.push_back({"fuel",
                  "jet flow at 40 C over 20 C, Re 1000, l/d 3",
                  {"Lichtarowicz, Duggins & Markland, J. Mech. Eng. Sci. 7(2) 1965, 210-219",
                   "eq. 12 with the viscosities of the table", Seen::computed_seen},
                  1.008,
                  flow(313.15, drop) / flow(293.15, drop),
                  absolute(0.003, "printed digits"),
                  "-",
                  {}});
}

}  // namespace glassbowl::validation
