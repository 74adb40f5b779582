#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/bike/resolved_case.hpp"

namespace glassbowl::sim {

/// Whether targets of a case (idle_speed, best_idle) are found, which takes a few seconds of computation.
enum class Targets { find, leave };

/// Reads what a user names: a case file, a shipped run, or the case kept in a trace.
ResolvedCase read_source(const std::string& given, const std::vector<std::string>& sets,
                         Targets targets = Targets::find);

/// The case kept in a trace or study, which a program of `version` wrote to `file`. One of another version is
/// read as it is, with a note; where it cannot be, the error says how it can.
ResolvedCase read_stored_case(const std::string& text, const std::filesystem::path& file,
                              std::string_view version, const std::vector<std::string>& sets);

/// A bike alone, a case file that with `sets` gives nothing of a ride, read with one that studies replace
/// anyway. Nothing for all else.
std::optional<ResolvedCase> read_bike_alone(const std::string& given, const std::vector<std::string>& sets,
                                            Targets targets = Targets::find);

/// The text of a resolved case without its ride: that of the bike alone.
std::string without_ride(const std::string& text);

/// `sets` after those that give a bike alone a load and a length, which studies replace anyway.
std::vector<std::string> with_ride(const std::vector<std::string>& sets);

}  // namespace glassbowl::sim
