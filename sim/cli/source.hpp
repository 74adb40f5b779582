#pragma once
#include <string>
#include <vector>

#include "sim/cases/resolved_case.hpp"

namespace glassbowl::sim {

/// Reads what a user names: a case file, a shipped run, or the case kept in a trace.
ResolvedCase read_source(const std::string& given, const std::vector<std::string>& sets);

/// `sets` after those that give a bike alone a load and a length, which studies replace anyway.
std::vector<std::string> with_ride(const std::vector<std::string>& sets);

}  // namespace glassbowl::sim
