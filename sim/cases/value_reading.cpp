#include "sim/cases/value_reading.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <cmath>
#include <cstdlib>

#include "sim/cases/case_limits.hpp"
#include "sim/cases/excerpt.hpp"
#include "sim/cases/nearest_key.hpp"
#include "sim/cases/quantity.hpp"

namespace glassbowl::sim {
namespace {

/// What a node is, for "this is ...".
std::string kind_of(const toml::node& node) {
  switch (node.type()) {
    case toml::node_type::table:
      return "a section or table";
    case toml::node_type::array:
      return "an array";
    case toml::node_type::string:
      return "text";
    case toml::node_type::integer:
      return "a whole number";
    case toml::node_type::floating_point:
      return "a decimal number";
    case toml::node_type::boolean:
      return "true or false";
    default:
      return "a date or time";
  }
}

std::string with_unit(double value, std::string_view unit) {
  return unit == units::one ? fmt::format("{:g}", value) : fmt::format("{:g} {}", value, unit);
}

std::string in_quotes(const std::string& example, std::string_view unit) {
  return unit == units::one ? example : "\"" + example + "\"";
}

std::string quoted_node(const toml::node& node) {
  return clipped(write_value(node), limits::excerpt_chars / 2);
}

std::string needed(const Wanted& wanted) {
  return fmt::format("{} is needed, such as {}", dimension_name(wanted.unit),
                     in_quotes(wanted.example, wanted.unit));
}

/// A limit that is met but for round-off in the conversion counts as met, and the value is put on it.
double snapped(double si, double limit) {
  constexpr double round_off = 1e-13;
  return std::abs(si - limit) <= round_off * std::abs(limit) ? limit : si;
}

bool too_long(const toml::node& node) {
  const auto& source = node.source();
  return source.begin.line == source.end.line &&
         source.end.column > source.begin.column + limits::number_bytes;
}

}  // namespace

std::string example_in(std::string_view unit, Range range) {
  const bool below = std::isfinite(range.lowest), above = std::isfinite(range.highest);
  double value = 1.0;
  if (below && above) {
    value =
        range.lowest > 0.0 ? std::sqrt(range.lowest * range.highest) : 0.5 * (range.lowest + range.highest);
  } else if (below) {
    value = range.lowest > 0.0 ? 2.0 * range.lowest : range.lowest + 1.0;
  } else if (above) {
    value = range.highest > 0.0 ? 0.5 * range.highest : range.highest - 1.0;
  }
  const double rounded = std::strtod(fmt::format("{:.1g}", value).c_str(), nullptr);
  if (rounded >= range.lowest && rounded <= range.highest) value = rounded;
  return with_unit(value, unit);
}

std::string range_text(std::string_view unit, Range range) {
  const bool below = std::isfinite(range.lowest), above = std::isfinite(range.highest);
  if (below && above) return with_unit(range.lowest, unit) + " to " + with_unit(range.highest, unit);
  if (below) return with_unit(range.lowest, unit) + " or more";
  if (above) return with_unit(range.highest, unit) + " or less";
  return {};
}

Reading<double> read_number(const toml::node& node, const Wanted& wanted, const std::string& subject) {
  const auto complain = [&](const std::string& wrong, const std::string& remedy) {
    return Complaint{&node, subject + " " + wrong, remedy};
  };
  double si = 0.0;
  if (const auto* text = node.as_string()) {
    const QuantityReading reading = read_quantity(text->get(), wanted.unit, wanted.example);
    if (!reading.wrong.empty()) return complain(reading.wrong, reading.remedy);
    si = reading.si;
  } else if (node.is_number()) {
    const double value =
        node.is_integer() ? static_cast<double>(node.as_integer()->get()) : node.as_floating_point()->get();
    if (!std::isfinite(value)) return complain("is not a finite number", needed(wanted));
    if (!takes_bare_numbers(wanted.unit)) return complain("has no unit", needed(wanted));
    if (too_long(node)) {
      return complain(fmt::format("has a number of more than {} characters", limits::number_bytes),
                      needed(wanted));
    }
    si = value;
  } else {
    return complain("is " + kind_of(node), needed(wanted));
  }
  const double lowest =
      std::isfinite(wanted.range.lowest) ? to_si(wanted.range.lowest, wanted.unit) : -HUGE_VAL;
  const double highest =
      std::isfinite(wanted.range.highest) ? to_si(wanted.range.highest, wanted.unit) : HUGE_VAL;
  if (std::isfinite(lowest)) si = snapped(si, lowest);
  if (std::isfinite(highest)) si = snapped(si, highest);
  const std::string give = "give " + range_text(wanted.unit, wanted.range);
  if (si < lowest) return complain("is below " + with_unit(wanted.range.lowest, wanted.unit), give);
  if (si > highest) return complain("is above " + with_unit(wanted.range.highest, wanted.unit), give);
  return si;
}

Reading<std::vector<double>> read_numbers(const toml::node& node, const Wanted& wanted,
                                          std::size_t max_count) {
  std::vector<double> values;
  const auto* array = node.as_array();
  if (array == nullptr) {
    auto value = read_number(node, wanted);
    if (auto* complaint = std::get_if<Complaint>(&value)) return std::move(*complaint);
    return std::vector<double>{std::get<double>(value)};
  }
  if (array->size() > max_count) {
    return Complaint{&node, fmt::format("this has {} entries", array->size()),
                     fmt::format("give at most {}", max_count)};
  }
  for (const auto& entry : *array) {
    auto value =
        read_number(entry, wanted, fmt::format("entry {}, {},", values.size() + 1, quoted_node(entry)));
    if (auto* complaint = std::get_if<Complaint>(&value)) return std::move(*complaint);
    values.push_back(std::get<double>(value));
  }
  return values;
}

Reading<std::vector<Keys::Point>> read_points(const toml::node& node, const Wanted& x, const Wanted& y) {
  const std::string form =
      fmt::format("give points such as [[{}, {}], ...], or one value alone for a constant",
                  in_quotes(x.example, x.unit), in_quotes(y.example, y.unit));
  const auto* array = node.as_array();
  if (array == nullptr) {
    auto value = read_number(node, y);
    if (auto* complaint = std::get_if<Complaint>(&value)) return std::move(*complaint);
    return std::vector<Keys::Point>{{0.0, std::get<double>(value)}};
  }
  if (array->empty()) return Complaint{&node, "this has no points", form};
  if (array->size() > limits::points) {
    return Complaint{&node, fmt::format("this has {} points", array->size()),
                     fmt::format("give at most {}", limits::points)};
  }
  std::vector<Keys::Point> points;
  for (const auto& entry : *array) {
    const std::string name = fmt::format("point {}", points.size() + 1);
    const auto* pair = entry.as_array();
    if (pair == nullptr || pair->size() != 2) {
      return Complaint{&entry, fmt::format("{}, {}, is not a pair", name, quoted_node(entry)), form};
    }
    double read[2];
    for (std::size_t i = 0; i < 2; ++i) {
      const toml::node& part = (*pair)[i];
      auto value = read_number(part, i == 0 ? x : y, fmt::format("{}, {},", name, quoted_node(part)));
      if (auto* complaint = std::get_if<Complaint>(&value)) return std::move(*complaint);
      read[i] = std::get<double>(value);
    }
    if (!points.empty() && !(read[0] > points.back().first)) {
      return Complaint{
          &entry, fmt::format("{}, {}, does not lie after the one before", name, quoted_node(entry)),
          "put the points in order, each later than the last; a sudden change needs a short time of its "
          "own"};
    }
    points.emplace_back(read[0], read[1]);
  }
  return points;
}

Reading<int> read_integer(const toml::node& node, int lowest, int highest) {
  const std::string remedy = fmt::format("give a whole number from {} to {}", lowest, highest);
  const auto* number = node.as_integer();
  if (number == nullptr) return Complaint{&node, "this is " + kind_of(node), remedy};
  if (number->get() < lowest) return Complaint{&node, fmt::format("this is below {}", lowest), remedy};
  if (number->get() > highest) return Complaint{&node, fmt::format("this is above {}", highest), remedy};
  return static_cast<int>(number->get());
}

Reading<bool> read_flag(const toml::node& node) {
  if (const auto* flag = node.as_boolean()) return flag->get();
  return Complaint{&node, "this is " + kind_of(node), "give true or false, without quotes"};
}

Reading<std::string> read_plain_text(const toml::node& node) {
  const auto* text = node.as_string();
  if (text == nullptr) return Complaint{&node, "this is " + kind_of(node), "give text in quotes"};
  if (text->get().size() > limits::text_bytes) {
    return Complaint{&node, fmt::format("this is longer than {} characters", limits::text_bytes),
                     "shorten it"};
  }
  return text->get();
}

Reading<std::ptrdiff_t> read_choice(const toml::node& node, const std::vector<std::string_view>& names) {
  const std::string remedy = fmt::format("give one of \"{}\"", fmt::join(names, "\", \""));
  const auto* text = node.as_string();
  if (text == nullptr) return Complaint{&node, "this is " + kind_of(node), remedy};
  const auto found = std::find(names.begin(), names.end(), text->get());
  if (found != names.end()) return found - names.begin();
  const std::string nearest = nearest_key(text->get(), {names.begin(), names.end()});
  return Complaint{&node, "this is not among the choices",
                   remedy + (nearest.empty() ? "" : fmt::format("; did you mean \"{}\"?", nearest))};
}

}  // namespace glassbowl::sim
