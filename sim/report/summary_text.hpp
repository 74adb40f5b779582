#pragma once
#include <string>

#include "sim/run/summary.hpp"

namespace glassbowl::sim {

/// The summary in plain words and the units of the workshop.
std::string summary_text(const Summary& summary);

/// What must be said beside it: a caution where lean charges occurred, else empty.
std::string summary_caution(const Summary& summary);

}  // namespace glassbowl::sim
