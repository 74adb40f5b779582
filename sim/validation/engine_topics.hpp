#pragma once
#include <vector>

#include "sim/validation/check.hpp"

/// The topics that run whole engines on the program's solver, one file each; made like those of topics.hpp.
namespace glassbowl::validation {

void check_closed_cycle(std::vector<Row>& rows);
void check_breathing(std::vector<Row>& rows);
void check_torque_and_mixture(std::vector<Row>& rows);
void check_altitude(std::vector<Row>& rows);
void check_tip_in(std::vector<Row>& rows);

inline constexpr Checks engine_topics[] = {
    check_closed_cycle, check_breathing, check_torque_and_mixture, check_altitude, check_tip_in,
};

}  // namespace glassbowl::validation
