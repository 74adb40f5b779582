#include "sim/bike/known_values.hpp"

#include <limits>

#include "sim/bike/resolved_case.hpp"
#include "sim/cases/quantity.hpp"

namespace glassbowl::sim {
namespace {

constexpr double unknown = std::numeric_limits<double>::quiet_NaN();

double si_of(const toml::node& node, std::string_view unit) {
  if (unit.empty()) return node.value<double>().value_or(unknown);  // a whole number
  if (const auto* text = node.as_string()) {
    const auto reading = read_limited_quantity(text->get(), unit).value;
    return reading.wrong.empty() ? reading.si : unknown;
  }
  const auto number = node.value<double>();
  return number && takes_bare_numbers(unit) ? *number : unknown;
}

std::map<std::string, DeclaredKey, std::less<>> all_declared() {
  std::map<std::string, DeclaredKey, std::less<>> out;
  for (const auto& key : declared_defaults())
    out.emplace(key.first.path, DeclaredKey{key.first.unit, key.first.range,
                                            key.second.empty() ? toml::table() : parse_value(key.second)});
  return out;
}

}  // namespace

const DeclaredKey* find_declared(std::string_view path) {
  static const auto all = all_declared();
  const auto found = all.find(path);
  return found == all.end() ? nullptr : &found->second;
}

const toml::node* KnownValues::node(std::string_view path) const {
  for (const Layer& layer : layers_->all())
    if (const auto* found = find_node(layer.table, path)) return found;
  const auto found = added_.find(path);
  return found == added_.end() ? nullptr : found->second.get("value");
}

bool KnownValues::gives(std::string_view path) const {
  return node(path) != nullptr;
}

double KnownValues::number(std::string_view path) const {
  const DeclaredKey* key = find_declared(path);
  if (key == nullptr) return unknown;
  const auto* given = node(path);
  if (given == nullptr) given = key->fallback.get("value");
  return given == nullptr ? unknown : si_of(*given, key->unit);
}

std::vector<double> KnownValues::numbers(std::string_view path) const {
  std::vector<double> out;
  const DeclaredKey* key = find_declared(path);
  const auto* given = node(path);
  if (key == nullptr || given == nullptr) return out;
  if (const auto* list = given->as_array())
    for (const auto& entry : *list) out.push_back(si_of(entry, key->unit));
  else
    out.push_back(si_of(*given, key->unit));
  return out;
}

bool KnownValues::flag(std::string_view path) const {
  const auto* given = node(path);
  if (given == nullptr)
    if (const DeclaredKey* key = find_declared(path)) given = key->fallback.get("value");
  return given != nullptr && given->value_or(false);
}

std::string KnownValues::word(std::string_view path) const {
  const auto* given = node(path);
  if (given == nullptr)
    if (const DeclaredKey* key = find_declared(path)) given = key->fallback.get("value");
  return given == nullptr ? "" : given->value_or(std::string());
}

void KnownValues::add(std::string path, std::string_view value) {
  added_.insert_or_assign(std::move(path), parse_value(value));
}

}  // namespace glassbowl::sim
