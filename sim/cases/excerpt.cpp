#include "sim/cases/excerpt.hpp"

#include <algorithm>
#include <cstdint>
#include <vector>

#include "sim/api/terminal_text.hpp"
#include "sim/cases/case_limits.hpp"

namespace glassbowl::sim {

std::size_t character_length(std::string_view text) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint8_t>(text[i]); };
  const std::size_t length = byte(0) < 0x80   ? 1
                             : byte(0) < 0xc2 ? 0
                             : byte(0) < 0xe0 ? 2
                             : byte(0) < 0xf0 ? 3
                             : byte(0) < 0xf5 ? 4
                                              : 0;
  if (length == 0 || length > text.size()) return 0;
  for (std::size_t i = 1; i < length; ++i) {
    if ((byte(i) & 0xc0) != 0x80) return 0;
  }
  return length;
}

bool steers_terminal(std::string_view character) {
  const auto byte = [&](std::size_t i) { return static_cast<std::uint8_t>(character[i]); };
  if (character.size() == 1) return byte(0) < 0x20 || byte(0) == 0x7f;
  if (character.size() == 2) return (byte(0) == 0xc2 && byte(1) < 0xa0) || character == "\u061c";
  if (character.size() == 4) return byte(0) == 0xf3 && byte(1) == 0xa0 && byte(2) <= 0x81;  // tags
  const auto lies_in = [&](std::string_view from, std::string_view to) {
    return character >= from && character <= to;
  };
  return lies_in("\u200b", "\u200f") || lies_in("\u2028", "\u202e") || lies_in("\u2060", "\u206f") ||
         lies_in("\ufff9", "\ufffb") || character == "\ufeff" || character == "\u180e";
}

namespace {

/// The characters of `text`, those unfit for a terminal replaced by spaces.
std::vector<std::string_view> fit_characters(std::string_view text) {
  std::vector<std::string_view> characters;
  while (!text.empty()) {
    const std::size_t length = character_length(text);
    const std::string_view character = text.substr(0, length == 0 ? 1 : length);
    characters.push_back(length == 0 || steers_terminal(character) ? std::string_view(" ") : character);
    text.remove_prefix(character.size());
  }
  return characters;
}

std::string joined(const std::vector<std::string_view>& characters, std::size_t from, std::size_t to) {
  std::string text;
  for (std::size_t i = from; i < to; ++i) text += characters[i];
  return text;
}

/// Byte offset of a column counted in characters from 1.
std::size_t offset_of(std::string_view line, std::size_t column) {
  std::size_t offset = 0;
  for (std::size_t i = 1; i < column && offset < line.size(); ++i) {
    const std::size_t length = character_length(line.substr(offset));
    offset += length == 0 ? 1 : length;
  }
  return offset;
}

}  // namespace

std::string clipped(std::string_view text, std::size_t most) {
  // Nearly all text is short and plain, and every key's is clipped.
  const auto plain = [](char c) { return c >= 0x20 && c < 0x7f; };
  if (text.size() <= most && std::all_of(text.begin(), text.end(), plain)) return std::string(text);
  // No character has more than four bytes, so what is cut here would not be shown anyway.
  const auto characters = fit_characters(text.substr(0, 4 * (most + 1)));
  if (characters.size() <= most) return joined(characters, 0, characters.size());
  return joined(characters, 0, most > 3 ? most - 3 : 0) + "...";
}

std::string terminal_text(std::string_view text) {
  std::string out;
  out.reserve(text.size());
  while (!text.empty()) {
    const std::size_t length = character_length(text);
    const std::string_view character = text.substr(0, length == 0 ? 1 : length);
    const bool layout = character == "\n" || character == "\t";
    if (!layout && (length == 0 || steers_terminal(character)))
      out += ' ';
    else
      out += character;
    text.remove_prefix(character.size());
  }
  return out;
}

std::string_view line_of(std::string_view text, std::size_t line) {
  for (std::size_t i = 1; i < line; ++i) {
    const std::size_t end = text.find('\n');
    if (end == std::string_view::npos) return {};
    text.remove_prefix(end + 1);
  }
  text = text.substr(0, text.find('\n'));
  if (text.ends_with('\r')) text.remove_suffix(1);
  return text;
}

std::string_view part_of(std::string_view text, std::size_t line, std::size_t column, std::size_t end_line,
                         std::size_t end_column) {
  const std::string_view first = line_of(text, line);
  const std::size_t begin = offset_of(first, column);
  const std::size_t end = end_line == line ? offset_of(first, end_column) : first.size();
  return first.substr(begin, end > begin ? end - begin : 0);
}

std::string caret(std::string_view text, std::size_t line, std::size_t column) {
  const auto characters = fit_characters(line_of(text, line));
  if (characters.empty() || column == 0) return {};
  // A long line is shown through a window around the place in question.
  const std::size_t width = limits::excerpt_chars + 20;
  std::size_t from = 0;
  if (characters.size() > width && column > width / 2) from = column - width / 2;
  if (from > characters.size()) from = characters.size();
  const std::size_t to = std::min(characters.size(), from + width);
  const std::string lead = from > 0 ? "..." : "";
  std::string shown =
      "  " + lead + joined(characters, from, to) + (to < characters.size() ? "..." : "") + "\n  ";
  shown += std::string(lead.size() + (column - 1 >= from ? column - 1 - from : 0), ' ') + "^";
  return shown;
}

}  // namespace glassbowl::sim
