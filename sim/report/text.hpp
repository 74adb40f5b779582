#pragma once
#include <string>

#include "sim/run/summary.hpp"

namespace glassbowl::sim {

/// The summary in plain words and the units of the workshop.
std::string summary_text(const Summary& summary);

}  // namespace glassbowl::sim
