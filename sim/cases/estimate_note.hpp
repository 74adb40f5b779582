#pragma once
#include <optional>
#include <string>
#include <string_view>

#include "sim/cases/spread.hpp"

namespace glassbowl::sim {

/// "12 %", "0.7 mm": half of the 95 % range of a value counted in `unit`. Empty where there is none.
std::string spread_text(const Spread& spread, std::string_view unit);

/// How the resolved case notes an estimated value: "estimated +- 12 %: 1.75 strokes (...)".
std::string estimate_note(const Spread& spread, std::string_view unit, std::string_view rule);

struct EstimateNote {
  Spread spread;
  std::string rule;
};

/// Reads such a note of a value counted in `unit`; nothing where it is none.
std::optional<EstimateNote> read_estimate_note(std::string_view note, std::string_view unit);

}  // namespace glassbowl::sim
