#include "sim/report/wrapped.hpp"

#include <algorithm>

namespace glassbowl::sim {
namespace {

/// Columns that UTF-8 text takes: bytes that go on with a letter take none.
std::size_t columns(const std::string& text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; }));
}

std::string wrapped_line(const std::string& line, std::size_t width) {
  if (columns(line) <= width) return line;
  const std::size_t first = std::min(line.find_first_not_of(' '), line.size());
  const std::string deeper(first + 2, ' ');
  std::string out, now = line.substr(0, first);
  for (std::size_t begin = first; begin < line.size();) {
    // A word with the spaces before it.
    const std::size_t from = std::min(line.find_first_not_of(' ', begin), line.size());
    const std::size_t end = std::min(line.find(' ', from), line.size());
    const std::string word = line.substr(from, end - from);
    const std::string gap = line.substr(begin, from - begin);
    const bool blank = now.find_first_not_of(' ') == std::string::npos;
    if (!blank && columns(now + gap + word) > width) {
      out += now + "\n";
      now = deeper + word;
    } else {
      now += gap + word;
    }
    begin = end;
  }
  return out + now;
}

}  // namespace

std::string wrapped(const std::string& text, std::size_t width) {
  std::string out;
  for (std::size_t begin = 0; begin < text.size();) {
    const std::size_t end = std::min(text.find('\n', begin), text.size());
    out += wrapped_line(text.substr(begin, end - begin), width);
    if (end < text.size()) out += "\n";
    begin = end + 1;
  }
  return out;
}

}  // namespace glassbowl::sim
