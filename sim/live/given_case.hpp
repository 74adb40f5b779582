#pragma once
#include <string>
#include <vector>

#include "sim/bike/resolved_case.hpp"

namespace glassbowl::sim {

/// The case that `given` names: a file, a shipped ride, a shipped bike ("bikes/goat_400", which idles), a
/// trace, or "RIDE+BIKE", a shipped ride on a shipped bike such as "blip+courier_650".
ResolvedCase read_given(const std::string& given, const std::vector<std::string>& sets = {});

}  // namespace glassbowl::sim
