#include "sim/cases/quantity.hpp"

#include <fmt/format.h>

#include <charconv>
#include <cmath>
#include <limits>
#include <numbers>
#include <optional>
#include <stdexcept>

#include "sim/api/error.hpp"
#include "sim/cases/case_limits.hpp"
#include "sim/cases/excerpt.hpp"
#include "sim/cases/key_units.hpp"
#include "sim/cases/unit_system.hpp"

namespace glassbowl::sim {
namespace {

std::shared_ptr<const Unit> declared_unit(std::string_view text) {
  const auto unit = find_unit(text == units::one ? "m/m" : text);
  if (!unit) throw std::logic_error(fmt::format("\"{}\" is no unit a key can be declared with", text));
  return unit;
}

/// True if `given` is what `wanted` is but for a count of turns in place of the angle: 1/s for rad/s.
bool counts_turns(const Dimension& given, const Dimension& wanted) {
  const auto angle = wanted.find("rad");
  const auto time = wanted.find("s");
  if (angle == wanted.end() || angle->second != 1 || time == wanted.end() || time->second >= 0) return false;
  Dimension rest = wanted;
  rest.erase("rad");
  return given == rest;
}

std::string_view trimmed(std::string_view text) {
  while (!text.empty() && (text.front() == ' ' || text.front() == '\t')) text.remove_prefix(1);
  while (!text.empty() && (text.back() == ' ' || text.back() == '\t')) text.remove_suffix(1);
  return text;
}

bool is_digit(char c) {
  return c >= '0' && c <= '9';
}

/// Length of the decimal number that `text` begins with; 0 if it begins with none. A grammar of its own,
/// since library parsers also take hexadecimal, "inf" and "nan".
std::size_t number_length(std::string_view text) {
  std::size_t i = 0;
  const auto digits = [&] {
    const std::size_t start = i;
    while (i < text.size() && is_digit(text[i])) ++i;
    return i - start;
  };
  if (i < text.size() && (text[i] == '+' || text[i] == '-')) ++i;
  std::size_t figures = digits();
  if (i < text.size() && text[i] == '.') {
    ++i;
    figures += digits();
  }
  if (figures == 0) return 0;
  const std::size_t mantissa_end = i;
  if (i < text.size() && (text[i] == 'e' || text[i] == 'E')) {
    ++i;
    if (i < text.size() && (text[i] == '+' || text[i] == '-')) ++i;
    if (digits() == 0) return mantissa_end;  // an "e" that begins the unit
  }
  return i;
}

/// A number as it stands before a unit.
struct Number {
  double value = 0.0;
  std::size_t length = 0;  ///< characters, 0 if there is none
  bool sound = true;       ///< false for what no double can hold
};

/// The decimal number that `text` begins with.
Number decimal(std::string_view text) {
  Number out;
  out.length = number_length(text);
  std::string_view number = text.substr(0, out.length);
  if (number.starts_with('+')) number.remove_prefix(1);
  const auto parsed = std::from_chars(number.data(), number.data() + number.size(), out.value);
  out.sound =
      parsed.ec == std::errc() && parsed.ptr == number.data() + number.size() && std::isfinite(out.value);
  return out;
}

/// The fraction of a rule that `text` begins with, "1/8" or "1 3/32"; length 0 if it begins with none. What
/// follows the stroke must be a figure, so "1 1/min" is none.
Number fraction(std::string_view text) {
  constexpr std::size_t most_figures = 6;
  std::size_t i = 0;
  const auto whole = [&]() -> std::optional<double> {
    const std::size_t start = i;
    double value = 0.0;
    for (; i < text.size() && is_digit(text[i]); ++i) value = 10.0 * value + (text[i] - '0');
    if (i == start || i - start > most_figures) return std::nullopt;
    return value;
  };
  const double sign = text.starts_with('-') ? -1.0 : 1.0;
  if (text.starts_with('-') || text.starts_with('+')) ++i;
  std::optional<double> before = 0.0, above = whole();
  if (above && i < text.size() && text[i] == ' ') {
    while (i < text.size() && text[i] == ' ') ++i;
    before = above;
    above = whole();
  }
  if (!above || i >= text.size() || text[i] != '/') return {};
  ++i;
  const auto below = whole();
  if (!below || (i < text.size() && text[i] == '.')) return {};
  return {sign * (*before + *above / *below), i, *below != 0.0};
}

/// The number of "8.5:1" or "17:2", where a pure number is wanted; length 0 if it is none.
Number ratio(std::string_view text) {
  const Number first = decimal(text);
  std::string_view rest = trimmed(text.substr(first.length));
  if (first.length == 0 || !rest.starts_with(':')) return {};
  rest = trimmed(rest.substr(1));
  const Number second = decimal(rest);
  if (second.length == 0 || second.length != rest.size()) return {};
  return {first.value / second.value, text.size(), first.sound && second.sound && second.value != 0.0};
}

std::string needed(std::string_view unit, std::string_view example) {
  const std::string sample = example.empty()
                                 ? (unit == units::one ? std::string("1") : fmt::format("1 {}", unit))
                                 : std::string(example);
  if (unit == units::one) return fmt::format("a pure number is needed, such as {}", sample);
  if (declared_unit(unit)->dimension.empty()) {
    return fmt::format("a fraction or percentage with its unit is needed, such as \"{}\"", sample);
  }
  return fmt::format("{} is needed, such as \"{}\"", dimension_name(unit), sample);
}

}  // namespace

QuantityReading read_quantity(std::string_view text, std::string_view unit, std::string_view example) {
  const auto wanted = declared_unit(unit);
  const auto wrong = [&](std::string what) {
    return QuantityReading{std::numeric_limits<double>::quiet_NaN(), std::move(what), needed(unit, example)};
  };
  if (text.size() > limits::quantity_bytes) {
    return wrong(fmt::format("is longer than {} characters", limits::quantity_bytes));
  }
  text = trimmed(text);
  Number number = unit == units::one ? ratio(text) : Number{};
  if (number.length == 0) number = fraction(text);
  if (number.length > 0 && !number.sound) return wrong("has a fraction over zero");
  if (number.length == 0) number = decimal(text);
  const std::size_t length = number.length;
  const double value = number.value;
  if (length == 0) {
    std::string_view word = text;
    if (!word.empty() && (word.front() == '-' || word.front() == '+')) word.remove_prefix(1);
    if (word.starts_with("nan") || word.starts_with("inf") || word.starts_with("NaN") ||
        word.starts_with("Inf")) {
      return wrong("is not a finite number");
    }
    return wrong("does not begin with a number");
  }
  if (length > limits::number_bytes) {
    return wrong(fmt::format("has a number of more than {} characters", limits::number_bytes));
  }
  if (!number.sound) return wrong("has a number that is too large or too small");
  const std::string_view tail = trimmed(text.substr(length));
  if (tail.starts_with('-') && fraction(tail.substr(1)).length > 0) {
    std::string spaced(text);
    spaced[spaced.find('-', length)] = ' ';
    QuantityReading reading = wrong("has a hyphen between the whole number and the fraction");
    if (read_quantity(spaced, unit).wrong.empty())
      reading.remedy = fmt::format("write a space there: \"{}\"", spaced);
    return reading;
  }
  if (tail.starts_with(',') && tail.size() > 1 && is_digit(tail[1])) {
    std::string pointed(text);
    pointed[pointed.find(',')] = '.';
    QuantityReading reading = wrong("has a comma where a decimal point belongs");
    if (read_quantity(pointed, unit).wrong.empty()) reading.remedy = needed(unit, pointed);
    return reading;
  }
  if (tail.empty()) {
    if (takes_bare_numbers(unit)) return {value, {}, {}};
    return wrong("has no unit");
  }
  const auto given = find_unit(tail);
  if (!given)
    return wrong(fmt::format("has a unit that is not known, \"{}\"", clipped(tail, limits::unit_bytes)));
  double factor = 1.0;
  if (given->dimension != wanted->dimension) {
    if (!counts_turns(given->dimension, wanted->dimension)) return wrong("is " + name_of(given->dimension));
    factor = 2.0 * std::numbers::pi;
  }
  if (given->has_offset && !wanted->has_offset) {
    QuantityReading reading = wrong("is a temperature on a scale, not a difference");
    reading.remedy = fmt::format("a temperature difference is needed, such as \"{}\"",
                                 example.empty() ? fmt::format("1 {}", unit) : std::string(example));
    return reading;
  }
  const double si = factor * convert(given->to_base, value);
  if (!std::isfinite(si)) return wrong("is too large");
  if (wanted->has_offset && si < 0.0) return wrong("is below absolute zero");
  return {si, {}, {}};
}

namespace {

/// Where limits begin, and where their number does.
struct LimitsMark {
  std::size_t at = std::string_view::npos, behind = 0;
};

LimitsMark find_limits(std::string_view text) {
  for (const std::string_view mark : {"\u00b1", "+/-", "+-"})
    if (const std::size_t at = text.find(mark); at != std::string_view::npos) return {at, at + mark.size()};
  return {};
}

/// What stands behind the number that `text` begins with.
std::string_view unit_behind(std::string_view text) {
  Number number = fraction(text);
  if (number.length == 0) number = decimal(text);
  return trimmed(text.substr(number.length));
}

/// Limits on a value; `wrong` says what is the matter with them.
struct LimitsReading {
  Spread spread;
  std::string wrong;
};

LimitsReading read_limits(std::string_view text, std::string_view unit, const Unit& wanted) {
  LimitsReading out;
  out.spread.reason = "given";
  const std::string_view own_unit = unit_behind(text);
  const bool relative = own_unit == "%" && unit != units::percent;
  if (relative) {
    const QuantityReading share = read_quantity(text, units::percent);
    out.spread.relative = true;
    out.spread.half_width = share.si;
    out.wrong = share.wrong;
  } else if (wanted.has_offset && !own_unit.empty()) {
    const auto given = find_unit(own_unit);
    const Number number = decimal(text);
    if (number.length == 0 || !number.sound)
      out.wrong = "begin with no number";
    else if (!given || given->dimension != wanted.dimension)
      out.wrong = "are no temperature difference";
    else
      out.spread.half_width = convert(given->to_base, number.value) - convert(given->to_base, 0.0);
  } else {
    const QuantityReading width = read_quantity(text, unit);
    out.spread.half_width = width.si;
    out.wrong = width.wrong;
  }
  if (out.wrong.empty() && !(out.spread.half_width >= 0.0)) out.wrong = "are negative";
  return out;
}

}  // namespace

LimitedReading read_limited_quantity(std::string_view text, std::string_view unit, std::string_view example) {
  const LimitsMark mark = find_limits(text);
  if (mark.at == std::string_view::npos || text.size() > limits::quantity_bytes)
    return {read_quantity(text, unit, example), std::nullopt};
  const auto wanted = declared_unit(unit);
  std::string value(trimmed(text.substr(0, mark.at))), width(trimmed(text.substr(mark.behind)));
  // One unit behind both, or behind the value alone, is that of both.
  const std::string unit_of_value(unit_behind(value)), unit_of_width(unit_behind(width));
  if (unit_of_value.empty() && !unit_of_width.empty() && (unit_of_width != "%" || unit == units::percent))
    value += " " + unit_of_width;
  if (unit_of_width.empty() && !unit_of_value.empty() && !width.empty()) width += " " + unit_of_value;
  LimitedReading out{read_quantity(value, unit, example), std::nullopt};
  if (!out.value.wrong.empty()) return out;
  const LimitsReading read = read_limits(width, unit, *wanted);
  if (!read.wrong.empty()) {
    out.value.wrong = fmt::format(
        "has limits, \"{}\", that cannot be read: they {}{}", clipped(width, limits::unit_bytes),
        read.wrong.starts_with("are ") || read.wrong.starts_with("begin ") ? "" : "fail, as the text ",
        read.wrong);
    out.value.remedy = fmt::format("limits such as \"{} \u00b1 5 %\" are needed", value);
    return out;
  }
  out.limits = read.spread;
  return out;
}

double to_si(std::string_view text, std::string_view unit) {
  const QuantityReading reading = read_quantity(text, unit);
  if (!reading.wrong.empty()) {
    throw Error(ErrorKind::input, fmt::format("\"{}\" {}; {}", clipped(text, limits::excerpt_chars),
                                              reading.wrong, reading.remedy));
  }
  return reading.si;
}

double to_si(double value, std::string_view unit) {
  return convert(declared_unit(unit)->to_base, value);
}

double from_si(double si, std::string_view unit) {
  return convert(declared_unit(unit)->from_base, si);
}

std::string format(double si, std::string_view unit) {
  const double value = from_si(si, unit) + 0.0;  // no minus sign before zero
  return unit == units::one ? fmt::format("{:.6g}", value) : fmt::format("{:.6g} {}", value, unit);
}

std::string dimension_name(std::string_view unit) {
  const auto known = declared_unit(unit);
  if (unit == units::temperature_difference) return "a temperature difference";
  if (known->has_offset) return "an absolute temperature";
  if (known->dimension.empty() && unit != units::one) return "a fraction";
  return name_of(known->dimension);
}

bool takes_bare_numbers(std::string_view unit) {
  return unit == units::one;
}

}  // namespace glassbowl::sim
