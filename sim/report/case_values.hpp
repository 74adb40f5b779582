#pragma once
#include <string>

#include "sim/bike/resolved_case.hpp"

namespace glassbowl::sim {

/// "own", "estimated", "borrowed" or "default".
const char* origin_name(Origin::Kind kind);

/// A value as people read it: without quotes.
std::string plain_value(const Origin& origin);

/// Every estimated value of the machine with its rule, a line each, and what was found for targets first;
/// empty where there is none.
std::string estimates_text(const ResolvedCase& resolved);

/// One JSON object: name, warnings, counts, and `values`: key, value, origin, from and spread of each.
std::string check_json(const ResolvedCase& resolved);

}  // namespace glassbowl::sim
