#pragma once

#include <cstddef>
#include <string>
#include <string_view>

namespace glassbowl::sim {

/// Text of a case made fit for a message: control characters and broken UTF-8 become spaces, and what exceeds
/// `most` characters is cut and marked by "...".
std::string clipped(std::string_view text, std::size_t most);

/// Bytes of the UTF-8 character that `text` begins with; 0 if it is broken.
std::size_t character_length(std::string_view text);

/// Whether a whole character steers a terminal: C0, delete, C1 (U+0080..9F), and the marks that reorder or
/// hide text.
bool steers_terminal(std::string_view character);

/// The given line (from 1) of `text`, without its end; empty if there is none.
std::string_view line_of(std::string_view text, std::size_t line);

/// The part of `text` from (line, column) up to (end_line, end_column), columns counted in characters from 1;
/// only what stands on the first line if it spans several.
std::string_view part_of(std::string_view text, std::size_t line, std::size_t column, std::size_t end_line,
                         std::size_t end_column);

/// Two lines: the source line, indented, and a caret under `column`; empty if there is no such line.
std::string caret(std::string_view text, std::size_t line, std::size_t column);

}  // namespace glassbowl::sim
