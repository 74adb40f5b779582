#pragma once
#include <vector>

#include "sim/validation/check.hpp"

/// The topics that need the models alone, one file each; whole engines are listed in engine_topics.hpp. A new
/// topic is a new file, its declaration and its line in the list.
namespace glassbowl::validation {

void check_atmosphere(std::vector<Row>& rows);
void check_humid_air(std::vector<Row>& rows);
void check_flow_function(std::vector<Row>& rows);
void check_gas_passages(std::vector<Row>& rows);
void check_throttle_plate(std::vector<Row>& rows);
void check_choke_plate(std::vector<Row>& rows);
void check_venturi_throat(std::vector<Row>& rows);
void check_vacuum_piston(std::vector<Row>& rows);
void check_jet_discharge(std::vector<Row>& rows);
void check_small_openings(std::vector<Row>& rows);
void check_emulsion(std::vector<Row>& rows);
void check_main_circuit(std::vector<Row>& rows);
void check_accelerator_pump(std::vector<Row>& rows);
void check_gravity_feed_and_float(std::vector<Row>& rows);
void check_fuel(std::vector<Row>& rows);
void check_evaporation(std::vector<Row>& rows);
void check_wall_film(std::vector<Row>& rows);
void check_gas_data(std::vector<Row>& rows);
void check_slider_crank(std::vector<Row>& rows);
void check_valve(std::vector<Row>& rows);
void check_combustion(std::vector<Row>& rows);
void check_wall_heat(std::vector<Row>& rows);
void check_friction_and_load(std::vector<Row>& rows);
void check_worked_carburetor_examples(std::vector<Row>& rows);
void check_faults(std::vector<Row>& rows);

inline constexpr Checks topics[] = {
    check_atmosphere,
    check_humid_air,
    check_flow_function,
    check_gas_passages,
    check_throttle_plate,
    check_choke_plate,
    check_venturi_throat,
    check_vacuum_piston,
    check_jet_discharge,
    check_small_openings,
    check_emulsion,
    check_main_circuit,
    check_accelerator_pump,
    check_gravity_feed_and_float,
    check_fuel,
    check_evaporation,
    check_wall_film,
    check_gas_data,
    check_slider_crank,
    check_valve,
    check_combustion,
    check_wall_heat,
    check_friction_and_load,
    check_worked_carburetor_examples,
    check_faults,
};

}  // namespace glassbowl::validation
