#pragma once

#include <string>
#include <string_view>

namespace glassbowl::sim {

/// `text` in lines of at most 100 columns, broken at words. The first line begins with `first`, the others
/// with `rest`; each ends with a line feed. Line feeds in the text stay.
std::string wrapped(std::string_view text, std::string_view first, std::string_view rest);

}  // namespace glassbowl::sim
