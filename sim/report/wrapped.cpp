#include "sim/report/wrapped.hpp"

#include <algorithm>

namespace glassbowl::sim {
namespace {

/// Columns that UTF-8 text takes: bytes that go on with a letter take none.
std::size_t columns(const std::string& text) {
  return static_cast<std::size_t>(
      std::count_if(text.begin(), text.end(), [](char c) { return (c & 0xC0) != 0x80; }));
}

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

/// What must not stand apart from its number, with what follows it.
bool is_unit(const std::string& word) {
  const std::string name = word.substr(0, word.find_first_of(",;.:)"));
  for (const char* unit : {"%", "rpm", "m", "mm", "K", "s", "ms", "kW", "turns"})
    if (name == unit) return true;
  return false;
}

std::string wrapped_line(const std::string& line, std::size_t width) {
  if (columns(line) <= width) return line;
  const std::size_t first = std::min(line.find_first_not_of(' '), line.size());
  const std::string deeper(first + 2, ' ');
  std::string out, now = line.substr(0, first);
  bool blank = true;
  for (std::size_t begin = first; begin < line.size();) {
    std::size_t end = std::min(line.find(' ', begin), line.size());
    // A number and its unit stay together.
    if (const std::size_t next = line.find(' ', end + 1); end < line.size() && end > begin)
      if (const std::string word = line.substr(end + 1, std::min(next, line.size()) - end - 1);
          is_digit(line[end - 1]) && is_unit(word))
        end += 1 + word.size();
    const std::string words = line.substr(begin, end - begin);
    if (!blank && columns(now) + 1 + columns(words) > width) {
      out += now + "\n";
      now = deeper + words;
    } else {
      now += (blank ? "" : " ") + words;
    }
    blank = false;
    begin = end + 1;
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
