#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace glassbowl::sim {

/// Fewest insertions, deletions, replacements and swaps of neighbours that turn one word into the other.
std::size_t edit_distance(std::string_view a, std::string_view b);

/// The dotted key most like `key`, or empty if none is alike. A key of the same last part in another section
/// counts as alike.
std::string nearest_key(std::string_view key, const std::vector<std::string>& known);

}  // namespace glassbowl::sim
