#include "sim/studies/changed_value.hpp"

#include <fmt/format.h>

#include "sim/cases/layer.hpp"
#include "sim/cases/quantity.hpp"

namespace glassbowl::sim {
namespace {

using Moved = std::function<double(double)>;

std::optional<std::string> changed_number(const toml::node& node, const std::string& unit,
                                          const Moved& moved) {
  double si = 0.0;
  if (const auto* text = node.as_string()) {
    const auto reading = read_limited_quantity(text->get(), unit).value;
    if (!reading.wrong.empty()) return std::nullopt;
    si = reading.si;
  } else if (const auto number = node.value<double>()) {
    si = *number;
  } else {
    return std::nullopt;
  }
  const double now = moved(si);
  if (now == si) return std::nullopt;
  return unit == units::one ? fmt::format("{:.17g}", now)
                            : fmt::format("\"{:.17g} {}\"", from_si(now, unit), unit);
}

/// A point of a table: its place stays.
std::optional<std::string> changed_point(const toml::array& point, const std::string& unit,
                                         const Moved& moved) {
  if (point.size() != 2) return std::nullopt;
  const auto number = changed_number(*point.get(1), unit, moved);
  return number ? std::optional("[" + write_value(*point.get(0)) + ", " + *number + "]") : std::nullopt;
}

}  // namespace

std::optional<std::string> changed_setting(const Origin& origin, const Declaration& key, const Moved& moved) {
  const toml::table table = parse_value(origin.value);
  const toml::node& node = *table.get("value");
  std::string text;
  if (const auto* list = node.as_array()) {
    for (const auto& entry : *list) {
      const auto* point = entry.as_array();
      const auto number =
          point != nullptr ? changed_point(*point, key.unit, moved) : changed_number(entry, key.unit, moved);
      if (!number) return std::nullopt;
      text += (text.empty() ? "" : ", ") + *number;
    }
    if (text.empty()) return std::nullopt;
    text = "[" + text + "]";
  } else if (const auto number = changed_number(node, key.unit, moved)) {
    text = *number;
  } else {
    return std::nullopt;
  }
  return origin.path + "=" + text;
}

std::optional<std::string> changed_by(const Origin& origin, const Declaration& key, const Spread& spread,
                                      double share) {
  return changed_setting(origin, key, [&](double si) {
    return spread.relative ? si * (1.0 + share * spread.half_width) : si + share * spread.half_width;
  });
}

}  // namespace glassbowl::sim
