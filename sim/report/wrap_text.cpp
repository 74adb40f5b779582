#include "sim/report/wrap_text.hpp"

#include <algorithm>

namespace glassbowl::sim {
namespace {

constexpr std::size_t columns = 100;

/// Characters of UTF-8 text, which are its columns but for scripts that no message of ours has.
std::size_t width_of(std::string_view text) {
  return static_cast<std::size_t>(std::count_if(
      text.begin(), text.end(), [](char c) { return (static_cast<unsigned char>(c) & 0xc0) != 0x80; }));
}

/// Where the first word ends; a number and the unit or sign behind it are one word.
std::size_t end_of_word(std::string_view text) {
  constexpr std::size_t longest_unit = 3;
  const std::size_t end = std::min(text.find(' '), text.size());
  if (end == 0 || end == text.size() || text[end - 1] < '0' || text[end - 1] > '9') return end;
  const std::size_t next = std::min(text.find(' ', end + 1), text.size());
  return next - end - 1 <= longest_unit ? next : end;
}

}  // namespace

std::string wrapped(std::string_view text, std::string_view first, std::string_view rest) {
  std::string out;
  std::string_view lead = first;
  while (true) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    std::string_view part = text.substr(0, end);
    std::string line(lead);
    bool empty = true;
    while (!part.empty()) {
      const std::size_t stop = end_of_word(part);
      const std::string_view word = part.substr(0, stop);
      if (!empty && width_of(line) + 1 + width_of(word) > columns) {
        out += line + "\n";
        line = rest;
        empty = true;
      }
      if (!empty) line += ' ';
      line += word;
      empty = false;
      part.remove_prefix(std::min(stop + 1, part.size()));
    }
    out += line + "\n";
    if (end == text.size()) return out;
    text.remove_prefix(end + 1);
    lead = rest;
  }
}

std::string wrapped(std::string_view text) {
  std::string out;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    std::string_view line = text.substr(0, end);
    const std::string indent(std::min(line.find_first_not_of(' '), line.size()), ' ');
    if (width_of(line) <= columns) {
      out += line;
      out += '\n';
    } else {
      line.remove_prefix(indent.size());
      out += wrapped(line, indent, indent + "  ");
    }
    if (end == text.size()) {
      out.pop_back();
      break;
    }
    text.remove_prefix(end + 1);
  }
  return out;
}

}  // namespace glassbowl::sim
