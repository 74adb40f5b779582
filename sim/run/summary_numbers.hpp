#pragma once
#include <string>
#include <utility>
#include <vector>

#include "sim/run/summary.hpp"

namespace glassbowl::sim {

/// The figures of a summary that a trace keeps: flat names, SI but for those whose name says otherwise.
/// Nothing that depends on the machine's speed, so equal runs give equal traces. The names depend only on
/// what the bike has fitted and on whether there is a throttle movement.
std::vector<std::pair<std::string, double>> summary_numbers(const Summary& summary);

/// The figures of a blip, by their names.
std::vector<std::pair<std::string, double>> blip_numbers(const BlipLag& blip);

}  // namespace glassbowl::sim
