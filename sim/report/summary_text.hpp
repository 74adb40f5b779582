#pragma once
#include <string>
#include <string_view>

#include "sim/run/summary.hpp"

namespace glassbowl::sim {

/// The summary in plain words and the units of the workshop.
std::string summary_text(const Summary& summary);

/// One line of it: "  label      value".
std::string summary_line(std::string_view label, std::string_view value);

/// What must be said beside it: a caution where lean cycles occurred, else empty.
std::string summary_caution(const Summary& summary);

}  // namespace glassbowl::sim
