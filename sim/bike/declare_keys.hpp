#pragma once
#include <string>

#include "models/fuel/emulsion_channel.hpp"
#include "models/fuel/jet.hpp"
#include "sim/bike/resolved_case.hpp"
#include "sim/cases/keys.hpp"

/// The keys of a case, one function per group of parts. Each declares name, unit, range, default and
/// meaning once, and checks what only shows when values are seen together.
namespace glassbowl::sim {

void declare_engine(Keys& keys, Engine<double>& engine);
void declare_gas_path(Keys& keys, GasPath<double>& path, m::WallFilm<double>& film);
void declare_fuel(Keys& keys, m::Fuel<double>& fuel);
void declare_carburetor(Keys& keys, const m::Fuel<double>& fuel, Carburetor<double>& carburetor);
void declare_vacuum_piston(Keys& keys, Carburetor<double>& carburetor);
void declare_supply(Keys& keys, Carburetor<double>& carburetor);
void declare_ride(Keys& keys, Bike<double>& bike);
void declare_run(Keys& keys, const GasPath<double>& path, RunPlan& plan);

/// A jet given by bore, or by a flow rating with its test head.
void declare_jet(Keys& keys, const std::string& path, const m::Fuel<double>& fuel, const std::string& what,
                 const char* length, m::Jet<double>& jet);

}  // namespace glassbowl::sim
