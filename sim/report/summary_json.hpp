#pragma once
#include <string>

#include "sim/run/summary.hpp"

namespace glassbowl::sim {

/// The summary as one JSON object, for scripts. Names say their unit where it is not 1; every number is
/// finite, and null stands for what is not known or was not reached.
std::string summary_json(const Summary& summary);

}  // namespace glassbowl::sim
