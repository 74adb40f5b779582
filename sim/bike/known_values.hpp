#pragma once
#include <map>
#include <optional>
#include <string>
#include <string_view>
#include <vector>

#include "sim/cases/layer.hpp"
#include "sim/cases/layers.hpp"

namespace glassbowl::sim {

/// What a case gives so far, by key, before it is read as a whole: for sizes that follow from others.
class KnownValues {
 public:
  explicit KnownValues(const Layers& layers) : layers_(&layers) {}

  /// Whether a file, an override or an earlier rule gives it; a default does not count.
  bool gives(std::string_view path) const;
  /// [SI] of a quantity, or its default; NaN where there is none, or what is given is unsound.
  double number(std::string_view path) const;
  /// [SI] of a list.
  std::vector<double> numbers(std::string_view path) const;
  bool flag(std::string_view path) const;
  std::string word(std::string_view path) const;

  /// From now on `path` has this value (TOML).
  void add(std::string path, std::string_view value);

 private:
  const toml::node* node(std::string_view path) const;

  const Layers* layers_;
  std::map<std::string, toml::table, std::less<>> added_;
};

/// Unit and default of a declared key.
struct DeclaredKey {
  std::string unit;
  Range range;
  toml::table fallback;  ///< under "value"; empty for none
};
/// By path; null where there is no such key.
const DeclaredKey* find_declared(std::string_view path);

}  // namespace glassbowl::sim
