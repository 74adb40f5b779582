#pragma once

#include <string>
#include <string_view>

/// Text in lines of at most 100 columns, broken at words; a number and its unit stay together, and a word
/// longer than a line stays whole.
namespace glassbowl::sim {

/// The first line begins with `first`, the others with `rest`; each ends with a line feed. Line feeds in the
/// text stay.
std::string wrapped(std::string_view text, std::string_view first, std::string_view rest);

/// Each line of the text by itself, continued two columns deeper than it begins. Ends as the text does.
std::string wrapped(std::string_view text);

}  // namespace glassbowl::sim
