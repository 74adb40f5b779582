#pragma once
#include <optional>
#include <string>
#include <vector>

#include "sim/bike/resolved_case.hpp"

namespace glassbowl::sim {

/// Reads what a user names: a case file, a shipped run, or the case kept in a trace.
ResolvedCase read_source(const std::string& given, const std::vector<std::string>& sets);

/// A bike alone, a case file that with `sets` gives nothing of a ride, read with one that studies replace
/// anyway. Nothing for all else.
std::optional<ResolvedCase> read_bike_alone(const std::string& given, const std::vector<std::string>& sets);

/// The text of a resolved case without its ride: that of the bike alone.
std::string without_ride(const std::string& text);

/// `sets` after those that give a bike alone a load and a length, which studies replace anyway.
std::vector<std::string> with_ride(const std::vector<std::string>& sets);

}  // namespace glassbowl::sim
