#pragma once
#include <string>

namespace glassbowl::sim {

/// Lines longer than `width` columns wrapped at spaces; what follows is indented two columns deeper than the
/// line itself. A word longer than that stays whole.
std::string wrapped(const std::string& text, std::size_t width);

}  // namespace glassbowl::sim
