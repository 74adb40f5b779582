#pragma once

#include <limits>
#include <string>
#include <string_view>
#include <vector>

namespace glassbowl::sim {

/// Fewest insertions, deletions, replacements and swaps of neighbours that turn one word into the other; or
/// any number above `most`, if there are more.
std::size_t edit_distance(std::string_view a, std::string_view b,
                          std::size_t most = std::numeric_limits<std::size_t>::max() - 1);

/// The dotted key most like `key`, or empty if none is alike. A key of the same last part in another section
/// counts as alike.
std::string nearest_key(std::string_view key, const std::vector<std::string>& known);

}  // namespace glassbowl::sim
