#include "sim/bike/declare_keys.hpp"

namespace glassbowl::sim {

void declare_gas_path(Keys& keys, GasPath<double>& p, m::WallFilm<double>& film) {
  keys.quantity("inlet.airbox_volume", p.airbox_volume, "l", {0.1, 30}, std::nullopt,
                "air between filter and carburetor");
  keys.quantity("inlet.filter_area", p.filter_area, "mm2", {20, 10000}, std::nullopt,
                "effective area of the clean filter");
  keys.quantity("inlet.filter_clogged", p.filter_clogged, units::percent, {0, 98}, "0 %",
                "fault: share of it lost to dirt");
  keys.quantity("inlet.length", p.inlet_length, "mm", {5, 1000}, "80 mm", "air column through the filter");
  keys.quantity("inlet.diameter", p.inlet_diameter, "mm", {10, 150}, "45 mm", "its diameter");

  keys.quantity("manifold.volume", p.manifold_volume, "cm3", {10, 2000}, std::nullopt,
                "throttle plate to runners");
  keys.quantity("manifold.wall_temperature", p.manifold_wall, units::temperature, {-40, 150}, "50 degC",
                "warm engine");
  keys.quantity("manifold.conductance", p.manifold_conductance, "W/K", {0, 20}, "0.25 W/K",
                "heat from wall to gas");
  keys.quantity("manifold.leak_area", p.manifold_leak, "mm2", {0, 100}, "0 mm2",
                "fault: effective area of an air leak");

  keys.quantity("runner.length", p.runner_length, "mm", {10, 2000}, std::nullopt, "manifold to intake valve");
  keys.quantity("runner.diameter", p.runner_diameter, "mm", {8, 100}, std::nullopt, "bore of each runner");
  keys.integer("runner.cells", p.runner_cells, 1, 64, "1",
               "gas cells along it: 1 lumped, more for wave action");
  keys.quantity("runner.conductance", p.runner_conductance, "W/K", {0, 20}, "0.25 W/K",
                "heat from wall to gas, each");

  keys.quantity("exhaust.volume", p.exhaust_volume, "l", {0.05, 20}, std::nullopt,
                "port and pipe of each cylinder");
  keys.quantity("exhaust.length", p.exhaust_length, "mm", {20, 3000}, std::nullopt,
                "gas column to the silencer");
  keys.quantity("exhaust.diameter", p.exhaust_diameter, "mm", {10, 120}, std::nullopt, "of the pipe");
  keys.quantity("silencer.volume", p.silencer_volume, "l", {0.1, 50}, "4 l", "shared by all cylinders");
  keys.quantity("silencer.area", p.silencer_area, "mm2", {20, 10000}, std::nullopt,
                "effective area of its outlet");
  keys.quantity("exhaust.wall_temperature", p.exhaust_wall, units::temperature, {-40, 900}, "330 degC",
                "of port and pipe");
  keys.quantity("exhaust.conductance", p.exhaust_conductance, "W/K", {0, 50}, "1 W/K",
                "heat from gas to wall");

  keys.quantity("mixture.drop_time", p.drop_time, "ms", {0.5, 500}, "15 ms",
                "lifetime of droplets in dry air of 300 K");
  keys.quantity("mixture.film_wall_temperature", film.wall_temperature, units::temperature, {-40, 150},
                "57 degC", "wall under the film");
  keys.quantity("mixture.film_deposition", film.deposition, units::one, {0, 0.5}, "0.04",
                "deposition velocity over gas velocity");
  keys.quantity("mixture.film_evaporation_time", film.evaporation_time, "s", {0.01, 100}, "0.7 s",
                "in dry air on a warm wall");
  keys.quantity("mixture.film_creep_time", film.creep_time, "s", {0.01, 100}, "1.2 s",
                "into the cylinder at high gas speed");
  keys.quantity("mixture.film_creep_speed", film.creep_speed, "m/s", {0.1, 200}, "10 m/s",
                "gas speed that half drives it");
  keys.quantity("mixture.film_heavy_fraction", film.heavy_fraction, units::one, {0, 1}, "0.6",
                "evaporated fraction that the film's fuel corresponds to");
  keys.quantity("numerics.response", p.response, "us", {5, 100}, "40 us",
                "shortest response of a nearly closed passage; not physics");
}

void declare_fuel(Keys& keys, m::Fuel<double>& f) {
  keys.quantity("fuel.density", f.density_20, "kg/m3", {600, 900}, "745 kg/m3", "at 20 degC");
  keys.quantity("fuel.density_slope", f.density_slope, "kg/m3/K", {-3, 0}, "-0.9 kg/m3/K",
                "over temperature");
  keys.quantity("fuel.kinematic_viscosity", f.kinematic_viscosity_20, "mm2/s", {0.1, 5}, "0.55 mm2/s",
                "at 20 degC");
  keys.quantity("fuel.viscosity_exponent", f.viscosity_exponent, "K", {0, 5000}, "913.7 K",
                "of its temperature law");
  keys.quantity("fuel.surface_tension", f.surface_tension, "mN/m", {5, 80}, "21 mN/m", "near 20 degC");
  keys.quantity("fuel.heating_value", f.heating_value, "MJ/kg", {15, 50}, "43.44 MJ/kg",
                "lower, of the liquid");
  keys.quantity("fuel.latent_heat", f.latent_heat, "kJ/kg", {100, 1300}, "350 kJ/kg", "of vaporisation");
  keys.quantity("fuel.stoichiometric_ratio", f.stoichiometric_ratio, units::one, {5, 20}, "14.6",
                "kg of air per kg of fuel");
  keys.quantity("fuel.liquid_heat_capacity", f.liquid_heat_capacity, "J/kg/K", {1000, 4500}, "2200 J/kg/K",
                "of the liquid");
  keys.quantity("fuel.vapour_molar_mass", f.vapour_molar_mass, "g/mol", {30, 200}, "97.2 g/mol",
                "of the vapour");
  keys.quantity("fuel.vapour_cv", f.vapour_cv, "J/kg/K", {500, 4000}, "1240 J/kg/K",
                "constant part of the vapour's cv");
  keys.quantity("fuel.vapour_cv_slope", f.vapour_cv_slope, "J/kg/K2", {0, 5}, "1.2 J/kg/K2",
                "its rise over temperature");
  keys.quantity("fuel.boiling_first", f.boiling_first, "K", {250, 450}, "331 K",
                "equilibrium boiling temperature of the fresh liquid");
  keys.quantity("fuel.boiling_linear", f.boiling_linear, "K", {0, 300}, "68 K",
                "its rise over the evaporated fraction");
  keys.quantity("fuel.boiling_last", f.boiling_last, "K", {0, 300}, "19 K",
                "toward the last fractions, fifth power");
  keys.quantity("fuel.vaporisation_slope", f.vaporisation_slope, "K", {1000, 8000}, "4210 K",
                "molar heat of vaporisation over the gas constant");
}

}  // namespace glassbowl::sim
