#pragma once

#include <toml++/toml.h>

#include <string>
#include <string_view>

namespace glassbowl::sim {

/// One parsed file or override. Never copied: copies of toml nodes forget where they stood.
struct Layer {
  std::string name;    ///< as shown in errors: the path as reached from the case, or "--set key.path"
  std::string source;  ///< as noted in the resolved case: the path within the case's folder, or "--set"
  std::string text;    ///< the source text
  toml::table table;
  bool is_set = false;
};

/// Parses TOML after bounding its nesting. Errors: Error{case_file} with file, line, column and source line.
toml::table parse_toml(std::string_view text, const std::string& name);

/// Parses a TOML value, or takes the text as a string if it is none; the result stands under "value".
toml::table parse_value(std::string_view text);

/// Whether this is a dotted path of bare TOML keys.
bool is_plain_key(std::string_view path);

/// The node at a dotted path of plain keys, or null.
const toml::node* find_node(const toml::table& table, std::string_view path);

/// A value as TOML that reads back bit-identical.
std::string write_value(const toml::node& node);

}  // namespace glassbowl::sim
