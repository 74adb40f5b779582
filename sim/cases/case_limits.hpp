#pragma once

#include <cstddef>

/// Bounds on what a case may ask of the reader. A sound case comes nowhere near them; they stop a damaged or
/// hostile file from costing memory, time or stack. All are checked, and each refusal names its limit.
namespace glassbowl::sim::limits {

inline constexpr std::size_t file_bytes = 1024 * 1024;     ///< size of one case file
inline constexpr std::size_t case_bytes = 2 * file_bytes;  ///< size of all files of one case
inline constexpr int base_depth = 16;                 ///< files that name one another as base, in a chain
inline constexpr std::size_t files = 64;              ///< files of one case
inline constexpr std::size_t sets = 256;              ///< overrides on the command line
inline constexpr std::size_t set_bytes = 64 * 1024;   ///< length of one override
inline constexpr std::size_t nesting = 16;            ///< brackets within brackets, and parts of a dotted key
inline constexpr std::size_t quantity_bytes = 80;     ///< length of a number with its unit
inline constexpr std::size_t number_bytes = 40;       ///< length of the number alone
inline constexpr std::size_t unit_bytes = 40;         ///< length of the unit alone
inline constexpr std::size_t text_bytes = 4000;       ///< length of a text value
inline constexpr std::size_t points = 4096;           ///< points of one table
inline constexpr std::size_t problems_shown = 40;     ///< problems listed in one error
inline constexpr std::size_t problems_counted = 400;  ///< unknown keys after which the search ends
inline constexpr std::size_t excerpt_chars = 80;      ///< characters quoted from a case in an error

}  // namespace glassbowl::sim::limits
