#include "sim/cases/estimate_note.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>

#include "sim/cases/key_units.hpp"
#include "sim/cases/quantity.hpp"

namespace glassbowl::sim {
namespace {

constexpr std::string_view begin = "estimated", sign = " +- ", end = ": ";

/// Widths of temperatures are differences.
std::string_view unit_of_width(std::string_view unit) {
  return unit == units::temperature ? units::temperature_difference : unit;
}

}  // namespace

std::string spread_text(const Spread& spread, std::string_view unit) {
  if (!(spread.half_width > 0.0)) return {};
  if (spread.relative) return fmt::format("{:.3g} %", 100.0 * spread.half_width);
  const std::string_view own = unit_of_width(unit);
  const std::string number = fmt::format("{:.3g}", from_si(spread.half_width, own));
  return own == units::one ? number : fmt::format("{} {}", number, own);
}

std::string estimate_note(const Spread& spread, std::string_view unit, std::string_view rule) {
  const std::string width = spread_text(spread, unit);
  return fmt::format("{}{}{}{}{}", begin, width.empty() ? "" : sign, width, end, rule);
}

std::optional<EstimateNote> read_estimate_note(std::string_view note, std::string_view unit) {
  if (!note.starts_with(begin)) return std::nullopt;
  note.remove_prefix(begin.size());
  const std::size_t colon = note.find(end);
  if (colon == std::string_view::npos) return std::nullopt;
  EstimateNote out;
  out.rule = std::string(note.substr(colon + end.size()));
  const std::string_view width = note.substr(0, colon);
  if (width.starts_with(sign)) {
    const std::string number(width.substr(sign.size()));
    out.spread.half_width = std::strtod(number.c_str(), nullptr);
    out.spread.relative = number.ends_with(" %") && unit != units::percent;
    out.spread.half_width = out.spread.relative ? 0.01 * out.spread.half_width
                                                : to_si(out.spread.half_width, unit_of_width(unit));
  } else if (!width.empty()) {
    return std::nullopt;
  }
  out.spread.reason = out.rule;
  return out;
}

}  // namespace glassbowl::sim
