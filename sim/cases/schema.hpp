#pragma once

#include <string>
#include <vector>

#include "sim/cases/keys.hpp"

namespace glassbowl::sim {

/// A JSON Schema (draft 2020-12) of case files from the declarations of all keys and their words, by which
/// editors complete, explain and check. It knows the usual units of each quantity, in any of the program's
/// spellings of a number; the program itself reads every unit of UDUNITS-2. Ranges of bare numbers are
/// checked, those of quantities stand in the description, and a minus sign is refused where none can be
/// right.
std::string schema_of(const std::vector<Declaration>& keys, const std::vector<KeyText>& texts);

}  // namespace glassbowl::sim
