#include "sim/cases/layer.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/api/error.hpp"
#include "sim/cases/case_limits.hpp"
#include "sim/cases/excerpt.hpp"

namespace glassbowl::sim {
namespace {

/// Where a string, comment or other thing that begins at `i` ends.
std::size_t skip_string(std::string_view text, std::size_t i) {
  const char quote = text[i];
  const std::string three(3, quote);
  const bool is_long = text.substr(i).starts_with(three);
  i += is_long ? 3 : 1;
  while (i < text.size()) {
    if (quote == '"' && text[i] == '\\') {
      i += 2;
    } else if (is_long && text.substr(i).starts_with(three)) {
      return i + 3;
    } else if (!is_long && (text[i] == quote || text[i] == '\n')) {
      return i + 1;
    } else {
      ++i;
    }
  }
  return text.size();
}

/// Refuses nesting that would exhaust the stack: the parser bounds brackets but not dotted keys.
void check_nesting(std::string_view text, const std::string& name) {
  std::size_t line = 1, depth = 0, dots = 0;
  for (std::size_t i = 0; i < text.size();) {
    const char c = text[i];
    if (c == '"' || c == '\'') {
      const std::size_t end = skip_string(text, i);
      for (; i < end && i < text.size(); ++i) line += text[i] == '\n' ? 1 : 0;
      continue;
    }
    if (c == '#') {
      while (i < text.size() && text[i] != '\n') ++i;
      continue;
    }
    if (c == '.') {
      ++dots;
    } else if (c == '\n' || c == '=' || c == ',' || c == '[' || c == ']' || c == '{' || c == '}') {
      dots = 0;
    }
    if (c == '\n') ++line;
    if (c == '[' || c == '{') ++depth;
    if ((c == ']' || c == '}') && depth > 0) --depth;
    if (dots >= limits::nesting || depth > limits::nesting) {
      throw Error(ErrorKind::case_file,
                  fmt::format("{}:{}: this is nested more than {} deep; no key of a case is", name, line,
                              limits::nesting));
    }
    ++i;
  }
}

}  // namespace

toml::table parse_toml(std::string_view text, const std::string& name, bool may_quote) {
  check_nesting(text, name);
  try {
    return toml::parse(text, std::string_view(name));
  } catch (const toml::parse_error& error) {
    if (!may_quote)
      throw Error(ErrorKind::case_file,
                  name + ": this is no case: it is not TOML; give a file such as bike.toml");
    const auto place = error.source().begin;
    std::string message = fmt::format("{}:{}:{}: this is not TOML: {}", name, place.line, place.column,
                                      clipped(error.description(), 2 * limits::excerpt_chars));
    if (const std::string source = caret(text, place.line, place.column); !source.empty())
      message += "\n" + source;
    throw Error(ErrorKind::case_file, message);
  }
}

toml::table parse_value(std::string_view text) {
  try {
    toml::table table = parse_toml("value = " + std::string(text), "value");
    // More than one key means that the text ran on into a second line: then it was no value.
    if (table.size() == 1) return table;
  } catch (const Error&) {
    // No TOML value, so it is meant as text, which is not an error.
  }
  toml::table table;
  table.insert("value", std::string(text));
  return table;
}

std::map<std::string, std::string, std::less<>> lines_by_key(std::string_view text) {
  std::map<std::string, std::string, std::less<>> lines;
  std::string section;
  while (!text.empty()) {
    const std::size_t end = std::min(text.find('\n'), text.size());
    const std::string_view line = text.substr(0, end);
    text.remove_prefix(std::min(end + 1, text.size()));
    const std::size_t equals = line.find(" = ");
    if (line.starts_with('[') && line.ends_with(']') && is_plain_key(line.substr(1, line.size() - 2)))
      section = std::string(line.substr(1, line.size() - 2)) + ".";
    else if (equals != std::string_view::npos && is_plain_key(line.substr(0, equals)))
      lines.emplace(section + std::string(line.substr(0, equals)), line);
  }
  return lines;
}

bool is_plain_key(std::string_view path) {
  std::size_t part = 0;
  for (const char c : path) {
    const bool plain =
        (c >= 'a' && c <= 'z') || (c >= 'A' && c <= 'Z') || (c >= '0' && c <= '9') || c == '_' || c == '-';
    if (!plain && !(c == '.' && part > 0)) return false;
    part = plain ? part + 1 : 0;
  }
  return part > 0;
}

const toml::node* find_node(const toml::table& table, std::string_view path) {
  const toml::table* place = &table;
  while (true) {
    const std::size_t dot = path.find('.');
    const toml::node* node = place->get(path.substr(0, dot));
    if (node == nullptr || dot == std::string_view::npos) return node;
    place = node->as_table();
    if (place == nullptr) return nullptr;
    path.remove_prefix(dot + 1);
  }
}

namespace {

/// "\\u202E" for a character that TOML does not allow as it stands, or that would steer a terminal.
std::string escaped(std::string_view character) {
  const auto byte = [&](std::size_t i) {
    return static_cast<unsigned>(static_cast<unsigned char>(character[i]));
  };
  unsigned code = byte(0);
  if (character.size() > 1) code &= 0xffU >> (character.size() + 1);
  for (std::size_t i = 1; i < character.size(); ++i) code = code << 6 | (byte(i) & 0x3fU);
  return code <= 0xffff ? fmt::format("\\u{:04X}", code) : fmt::format("\\U{:08X}", code);
}

std::string quoted(std::string_view text) {
  std::string result = "\"";
  while (!text.empty()) {
    const std::size_t length = std::max<std::size_t>(1, character_length(text));
    const std::string_view character = text.substr(0, length);
    if (character == "\"" || character == "\\")
      result += fmt::format("\\{}", character);
    else if (steers_terminal(character))
      result += escaped(character);
    else
      result += character;
    text.remove_prefix(length);
  }
  return result + "\"";
}

std::string written(double value) {
  if (!std::isfinite(value)) return std::isnan(value) ? "nan" : value > 0 ? "inf" : "-inf";
  std::string text = fmt::format("{}", value);  // the shortest text that reads back the same
  if (text.find_first_of(".e") == std::string::npos) text += ".0";
  return text;
}

}  // namespace

std::string write_value(const toml::node& node) {
  if (const auto* text = node.as_string()) return quoted(text->get());
  if (const auto* number = node.as_integer()) return fmt::format("{}", number->get());
  if (const auto* number = node.as_floating_point()) return written(number->get());
  if (const auto* flag = node.as_boolean()) return flag->get() ? "true" : "false";
  if (const auto* array = node.as_array()) {
    std::string result = "[";
    for (const auto& entry : *array) result += (result.size() > 1 ? ", " : "") + write_value(entry);
    return result + "]";
  }
  if (const auto* table = node.as_table()) {
    std::string result = "{";
    for (const auto& [key, entry] : *table) {
      result += (result.size() > 1 ? ", " : "") + quoted(key.str()) + " = " + write_value(entry);
    }
    return result + "}";
  }
  return "\"a date or time\"";
}

}  // namespace glassbowl::sim
