#include "sim/cases/schema.hpp"

#include <toml++/toml.h>

#include <cctype>
#include <nlohmann/json.hpp>
#include <set>
#include <sstream>
#include <string_view>

#include "sim/cases/case_limits.hpp"
#include "sim/cases/key_units.hpp"
#include "sim/cases/layer.hpp"
#include "sim/cases/quantity.hpp"

namespace glassbowl::sim {
namespace {

using Json = nlohmann::ordered_json;
using Kind = Declaration::Kind;

/// Spellings that cases use; which of them fit a key, the reader of quantities decides.
constexpr std::string_view usual_units[] = {
    // clang-format off
    "%", "percent",
    "nm", "um", "µm", "mm", "cm", "dm", "m", "km", "in", "inch", "inches", "ft", "feet", "thou", "mil", "mile",
    "miles", "\"", "″",
    "mm2", "mm^2", "mm²", "cm2", "cm^2", "cm²", "m2", "m^2", "m²", "in2", "in^2", "sq_in",
    "mm3", "mm^3", "cm3", "cm^3", "cm³", "cc", "ccm", "ml", "mL", "cl", "dl", "l", "L", "liter", "litre", "dm3",
    "m3", "m^3", "m³", "in3", "in^3", "gallon", "pint", "quart",
    "mg", "g", "kg", "lb", "oz", "pound", "ounce", "tonne",
    "ns", "us", "µs", "ms", "s", "sec", "second", "seconds", "min", "minute", "minutes", "h", "hour", "hours",
    "deg", "°", "degree", "degrees", "rad", "rev", "turn", "turns", "arc_degree",
    "rpm", "1/min", "RPM", "Rpm", "U/min", "U/Min", "r/min", "rad/s", "Hz", "1/s", "deg/s", "rev/min", "rev/s",
    "K", "degC", "degF", "C", "F", "°C", "°F", "° C", "° F", "℃", "℉", "deg C", "deg F", "celsius", "fahrenheit",
    "kelvin", "degR",
    "Pa", "hPa", "kPa", "MPa", "mbar", "bar", "atm", "psi", "torr", "mmHg", "inHg", "cmH2O", "mmH2O", "inH2O",
    "m/s", "cm/s", "mm/s", "km/h", "kph", "mph", "ft/s", "m/s2", "m/s^2", "m/s²", "ft/s2",
    "mN", "N", "kN", "lbf", "kgf", "gf", "ozf",
    "N/m", "mN/m", "N/mm", "N/cm", "kN/m", "lbf/in", "kgf/mm", "N s/m", "N s/mm", "kg/s",
    "Nm", "N m", "N.m", "Nmm", "N mm", "mN m", "kgf m", "lbf ft", "ft lbf", "J", "kJ",
    "W", "kW", "hp", "PS", "W/K", "kW/K",
    "kg m2", "kg m^2", "kg cm2", "g cm2", "g m2",
    "g/s", "mg/s", "g/min", "kg/h", "g/h", "kg/min",
    "cm3/min", "ccm/min", "cc/min", "cm3/s", "ml/min", "ml/s", "l/min", "l/h", "l/s", "m3/s", "m3/h", "cc/s",
    "kg/m3", "g/cm3", "kg/l", "g/ml", "g/l", "kg/m3/K", "kg/(m3 K)",
    "J/kg", "kJ/kg", "MJ/kg", "J/g", "kJ/g", "J/kg/K", "J/(kg K)", "kJ/kg/K", "kJ/(kg K)", "J/kg/K2",
    "J/(kg K2)",
    "mm2/s", "m2/s", "cSt", "g/mol", "kg/mol", "bar s/m", "Pa s/m", "kPa s/m", "bar s2/m2", "Pa s2/m2",
    "kPa s2/m2", "Pa s", "mPa s", "cP", "1/K", "1/m", "%/K",
    // clang-format on
};

constexpr std::string_view number = R"((?:\d+\.?\d*|\.\d+)(?:[eE][+-]?\d+)?)";
constexpr std::string_view fraction = R"((?:\d+ +)?\d+/\d+)";

std::string joined(std::initializer_list<std::string_view> parts) {
  std::string out;
  for (const auto part : parts) out += part;
  return out;
}

std::string escaped(std::string_view text) {
  std::string out;
  for (const char c : text) {
    if (std::string_view(R"(\^$.|?*+()[]{}/)").find(c) != std::string_view::npos) out += '\\';
    out += c;
  }
  return out;
}

/// The usual units that the program takes for a key declared in `unit`.
std::string units_for(std::string_view unit) {
  std::string out;
  for (const auto candidate : usual_units) {
    if (!read_quantity(joined({"1 ", candidate}), unit).wrong.empty()) continue;
    if (!out.empty()) out += "|";
    out += escaped(candidate);
  }
  return out;
}

/// Text of a quantity, how well it is known behind it where that is given: "45 cm3 ± 10 cm3", "45 cm3 +- 5
/// %".
std::string pattern_for(std::string_view unit, bool negative) {
  const bool bare = unit == units::one;
  const std::string sign = negative ? "[+-]?" : "\\+?";
  const std::string units = units_for(unit);
  std::string values = joined({"(?:", fraction, "|", number, ")"});
  if (bare) values = joined({"(?:", fraction, "|", number, "\\s*:\\s*", number, "|", number, ")"});
  const std::string unit_part = joined({"\\s*(?:", units, ")", bare ? "?" : ""});
  const std::string known = joined({"(?:\\s*(?:±|\\+-|\\+/-)\\s*", number, "\\s*(?:", units, "|%)?)?"});
  return joined({"^\\s*", sign, values, unit_part, known, "\\s*$"});
}

bool may_be_negative(std::string_view unit, const Range& range) {
  return range.lowest < 0.0 || unit == units::temperature;
}

class Definitions {
 public:
  /// A reference to the definition of a quantity of this kind, made at its first use.
  Json reference(std::string_view unit, const Range& range) {
    const bool negative = may_be_negative(unit, range);
    std::string name = dimension_name(unit);
    name = name.substr(name.find(' ') + 1);
    for (char& c : name)
      if (std::isalnum(static_cast<unsigned char>(c)) == 0) c = '_';
    if (!negative) name += "_not_negative";
    if (!all_.contains(name)) all_[name] = {{"type", "string"}, {"pattern", pattern_for(unit, negative)}};
    return {{"$ref", "#/$defs/" + name}};
  }

  Json take() { return std::move(all_); }

 private:
  Json all_ = Json::object();
};

Json number_in(const Range& range) {
  Json out{{"type", "number"}};
  if (std::isfinite(range.lowest)) out["minimum"] = range.lowest;
  if (std::isfinite(range.highest)) out["maximum"] = range.highest;
  return out;
}

/// One value of a key.
Json value_of(std::string_view unit, const Range& range, Definitions& definitions) {
  Json text = definitions.reference(unit, range);
  return takes_bare_numbers(unit) ? Json{{"anyOf", {number_in(range), text}}} : text;
}

Json content_of(const Declaration& key, Definitions& definitions) {
  switch (key.kind) {
    case Kind::quantity:
      return value_of(key.unit, key.range, definitions);
    case Kind::quantities: {
      const Json value = value_of(key.unit, key.range, definitions);
      return {{"anyOf", {value, {{"type", "array"}, {"items", value}, {"maxItems", key.max_count}}}}};
    }
    case Kind::points: {
      const Json x = value_of(key.unit_x, key.range_x, definitions);
      const Json y = value_of(key.unit, key.range, definitions);
      const Json pair{
          {"type", "array"}, {"prefixItems", {x, y}}, {"items", false}, {"minItems", 2}, {"maxItems", 2}};
      const Json table{{"type", "array"}, {"items", pair}, {"minItems", 1}, {"maxItems", limits::points}};
      return {{"anyOf", {y, table}}};
    }
    case Kind::integer:
      return {{"type", "integer"}, {"minimum", int(key.range.lowest)}, {"maximum", int(key.range.highest)}};
    case Kind::flag:
      return {{"type", "boolean"}};
    case Kind::choice:
      return {{"type", "string"}, {"enum", key.names}};
    case Kind::text:
      break;
  }
  return {{"type", "string"}, {"maxLength", limits::text_bytes}};
}

/// A value written as TOML, as JSON.
Json as_json(const std::string& toml_value) {
  std::ostringstream out;
  out << toml::json_formatter{parse_value(toml_value)};
  return Json::parse(out.str())["value"];
}

/// The section that holds a key, made where it is missing, and the key's own name.
std::pair<Json*, std::string> place_of(Json& root, const std::string& path) {
  Json* section = &root;
  std::istringstream parts(path);
  std::string part, next;
  std::getline(parts, part, '.');
  while (std::getline(parts, next, '.')) {
    Json& inner = (*section)["properties"][part];
    if (inner.is_null()) inner = {{"type", "object"}, {"additionalProperties", false}, {"properties", {}}};
    section = &inner;
    part = next;
  }
  return {section, part};
}

}  // namespace

std::string schema_of(const std::vector<Declaration>& keys, const std::vector<KeyText>& texts) {
  Json root{{"$schema", "https://json-schema.org/draft/2020-12/schema"},
            {"$id", "urn:glassbowl:case"},
            {"title", "glassbowl case"},
            {"description",
             "A bike, a part of one, or a ride. Every quantity carries its unit. The usual units are known "
             "here; the program reads all units of UDUNITS-2. `glassbowl check` also checks ranges of "
             "quantities, and what shows only in combination."},
            {"type", "object"},
            {"additionalProperties", false}};
  Json path{{"type", "string"}, {"minLength", 1}};
  root["properties"]["base"] = {
      {"description", "file or files that this case builds on, beside it or among the shipped cases"},
      {"anyOf", {path, {{"type", "array"}, {"items", path}}}},
      {"examples", {"bikes/mule_750.toml"}}};
  Definitions definitions;
  for (std::size_t i = 0; i < keys.size(); ++i) {
    const auto [section, name] = place_of(root, keys[i].path);
    const KeyText& text = texts[i];
    Json entry{{"description", text.meaning + ": " + text.allowed +
                                   (text.fallback.empty() ? "; required" : "; default " + text.fallback)}};
    entry.update(content_of(keys[i], definitions));
    if (!text.fallback.empty()) entry["default"] = as_json(text.fallback);
    if (keys[i].kind != Kind::text) entry["examples"] = {as_json(text.example)};
    (*section)["properties"][name] = std::move(entry);
  }
  root["$defs"] = definitions.take();
  return root.dump(1) + "\n";
}

}  // namespace glassbowl::sim
