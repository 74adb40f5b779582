#pragma once

#include <toml++/toml.h>

#include <map>
#include <string>
#include <string_view>

#include "sim/cases/keys.hpp"

namespace glassbowl::sim {

/// Where a value that no file says came from.
struct Made {
  Origin::Kind kind = Origin::Kind::estimated;
  std::string source;  ///< as in `Origin`
  Spread spread{};
};

/// One parsed file or override. Never copied: copies of toml nodes forget where they stood.
struct Layer {
  std::string name;    ///< as shown in errors: the path as reached from the case, or "--set key.path"
  std::string source;  ///< as noted in the resolved case: the path within the case's folder, or "--set"
  std::string text;    ///< the source text
  toml::table table;
  bool is_set = false;
  bool is_main = false;  ///< the case itself, not what it builds on
  /// Lines of a main file by the dotted path of their key: one that `Keys::resolved` wrote says where the
  /// value came from.
  std::map<std::string, std::string, std::less<>> lines{};
  /// Not from a file: by the dotted path of each of its keys, where the value came from.
  std::map<std::string, Made, std::less<>> made{};

  bool is_file() const { return !is_set && made.empty(); }
};

/// Parses TOML after bounding its nesting. Errors: Error{case_file} with file, line, column and source line;
/// without `may_quote` nothing of the text is shown, since it may be a file of any kind.
toml::table parse_toml(std::string_view text, const std::string& name, bool may_quote = true);

/// Parses a TOML value, or takes the text as a string if it is none; the result stands under "value".
toml::table parse_value(std::string_view text);

/// Lines that give a key, by its dotted path, as far as each stands on a line of its own in plain form.
std::map<std::string, std::string, std::less<>> lines_by_key(std::string_view text);

/// Whether this is a dotted path of bare TOML keys.
bool is_plain_key(std::string_view path);

/// The node at a dotted path of plain keys, or null.
const toml::node* find_node(const toml::table& table, std::string_view path);

/// A value as TOML that reads back bit-identical.
std::string write_value(const toml::node& node);

}  // namespace glassbowl::sim
