#include "sim/bike/uncertain_value.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <optional>
#include <stdexcept>

#include "sim/bike/provenance.hpp"
#include "sim/cases/key_units.hpp"
#include "sim/cases/layer.hpp"
#include "sim/cases/quantity.hpp"

namespace glassbowl::sim {
namespace {

constexpr double of_95_percent = 1.959963984540054;  // standard deviations of a normal distribution
constexpr double far_out = 4.0;                      // standard deviations that a draw hardly passes

/// A number of a value with its limits, if it has any.
struct Number {
  double si = 0.0;
  std::optional<Spread> limits;
};

std::optional<Number> number_of(const toml::node& node, const std::string& unit) {
  if (const auto* text = node.as_string()) {
    const LimitedReading read = read_limited_quantity(text->get(), unit);
    if (!read.value.wrong.empty()) return std::nullopt;
    return Number{read.value.si, read.limits};
  }
  if (const auto value = node.value<double>()) return Number{*value, std::nullopt};
  return std::nullopt;
}

std::string toml_number(double si, const std::string& unit) {
  return unit == units::one ? fmt::format("{:.17g}", si)
                            : fmt::format("\"{:.17g} {}\"", from_si(si, unit), unit);
}

double width_of(double si, const Spread& spread) {
  return spread.relative ? std::abs(si) * spread.half_width : spread.half_width;
}

double in_si(double bound, const std::string& unit) {
  return std::isfinite(bound) ? to_si(bound, unit) : bound;
}

const std::map<std::string, Declaration, std::less<>>& declarations() {
  static const auto all = [] {
    std::map<std::string, Declaration, std::less<>> out;
    for (const Declaration& d : declared_keys()) out.emplace(d.path, d);
    return out;
  }();
  return all;
}

/// Applies `change` to each number of a value and writes it anew; nothing where one is none. Numbers of a
/// table of points are those of its second column.
template <class Change>
std::optional<std::string> rewritten(const toml::node& node, const Declaration& key, const Change& change) {
  if (const auto* list = node.as_array()) {
    std::string text;
    const bool pair = key.kind == Declaration::Kind::points && list->size() == 2 && !(*list)[0].is_array();
    for (std::size_t i = 0; i < list->size(); ++i) {
      const auto part =
          pair && i == 0 ? std::optional(write_value((*list)[i])) : rewritten((*list)[i], key, change);
      if (!part) return std::nullopt;
      text += (text.empty() ? "" : ", ") + *part;
    }
    return "[" + text + "]";
  }
  const auto number = number_of(node, key.unit);
  if (!number) return std::nullopt;
  return toml_number(change(*number), key.unit);
}

/// Whether any limits stand within a value: then numbers without them are exact.
bool has_limits(const toml::node& node, const Declaration& key) {
  bool any = false;
  rewritten(node, key, [&](const Number& n) {
    any = any || n.limits.has_value();
    return n.si;
  });
  return any;
}

bool is_number(const Declaration& key) {
  return key.kind == Declaration::Kind::quantity || key.kind == Declaration::Kind::quantities ||
         key.kind == Declaration::Kind::points;
}

/// Whether a value can make a difference to a steady cycle at held speed.
bool acts(const Origin& origin, const ResolvedCase& resolved) {
  const std::string_view path = origin.path;
  const auto& c = resolved.bike.carburetor;
  const bool limits_given = origin.spread.reason == "given";
  if (path.starts_with("fuel.") ||
      (limits_given && (path == "air.humidity" || origin.meaning.starts_with("fault:"))))
    return true;
  if (!describes_machine(origin, resolved.bike)) return false;
  if (path.starts_with("carburetor.pump.")) return c.pump.pull_over > 0.0;
  const auto choke = resolved.bike.rider.choke.points();
  const bool choked = std::any_of(choke.begin(), choke.end(), [](const auto& p) { return p.second > 0.0; });
  if (path.starts_with("carburetor.choke.") || path.starts_with("carburetor.enrichment.")) return choked;
  return true;
}

}  // namespace

UncertainValue::UncertainValue(std::string path, std::string meaning, std::string value, Spread spread,
                               Declaration declaration)
    : path_(std::move(path)),
      meaning_(std::move(meaning)),
      value_(std::move(value)),
      spread_(std::move(spread)),
      declaration_(std::move(declaration)) {
  if (!is_number(declaration_) || value_.empty()) return;
  const toml::table table = parse_value(value_);
  const toml::node& node = *table.get("value");
  const bool limited = has_limits(node, declaration_);
  rewritten(node, declaration_, [&](const Number& n) {
    const Spread own = n.limits ? *n.limits : limited ? Spread{} : spread_;
    moves_ = moves_ || width_of(n.si, own) > 0.0;
    return n.si;
  });
}

double UncertainValue::moved(double si, const Spread& spread, double deviation) const {
  const double half = width_of(si, spread), sigma = half / of_95_percent;
  if (!(half > 0.0)) return si;
  const double low = in_si(declaration_.range.lowest, declaration_.unit),
               high = in_si(declaration_.range.highest, declaration_.unit);
  const bool near_low = si - far_out * sigma<low, near_high = si + far_out * sigma> high;
  if (!near_low && !near_high) return si + sigma * deviation;
  const double from_low = si - low, to_high = high - si;
  if (!(from_low > 0.0)) return std::min(si + sigma * std::abs(deviation), high);
  if (!(to_high > 0.0)) return std::max(si - sigma * std::abs(deviation), low);
  // The upper 95 % limit is where it was asked for, or the lower one under an upper bound.
  if (!near_high) return low + from_low * std::exp(deviation * std::log1p(half / from_low) / of_95_percent);
  if (!near_low) return high - to_high * std::exp(-deviation * std::log1p(half / to_high) / of_95_percent);
  const double odds = from_low / to_high, slope = sigma * (high - low) / (from_low * to_high);
  const double now = odds * std::exp(slope * deviation);
  return low + (high - low) * now / (1.0 + now);
}

std::string UncertainValue::drawn(double deviation) const {
  const toml::table table = parse_value(value_);
  const toml::node& node = *table.get("value");
  const bool limited = has_limits(node, declaration_);
  const auto text = rewritten(node, declaration_, [&](const Number& n) {
    return moved(n.si, n.limits ? *n.limits : limited ? Spread{} : spread_, deviation);
  });
  return path_ + "=" + *text;
}

std::vector<UncertainValue> uncertain_values(const ResolvedCase& resolved) {
  std::map<std::string_view, const Origin*> by_path;
  for (const Origin& o : resolved.origins) by_path[o.path] = &o;
  // What a second way of giving a value says counts where it is not zero.
  const auto counts = [&](std::string_view path) {
    const auto found = by_path.find(path);
    if (found == by_path.end()) return false;
    const auto number =
        number_of(*parse_value(found->second->value).get("value"), declarations().find(path)->second.unit);
    return number && number->si != 0.0;
  };
  std::vector<UncertainValue> out;
  for (const Origin& o : resolved.origins) {
    const auto key = declarations().find(o.path);
    if (key == declarations().end() || !is_number(key->second) || o.value.empty() || !acts(o, resolved))
      continue;
    if (!(o.spread.half_width > 0.0)) continue;
    const std::string_view path = o.path;
    if (path.ends_with(".bore") && counts(std::string(path.substr(0, path.size() - 4)) + "flow_rating"))
      continue;
    if (path.ends_with(".flow_rating") && !counts(path)) continue;
    if (path == "float.level" && counts("float.height")) continue;
    if (path == "float.height" && !counts(path)) continue;
    UncertainValue value(o.path, o.meaning, o.value, o.spread, key->second);
    if (value.moves()) out.push_back(std::move(value));
  }
  return out;
}

Spread spread_of(const ResolvedCase& resolved, std::string_view key) {
  for (const Origin& o : resolved.origins)
    if (o.path == key) return o.spread;
  throw std::invalid_argument(fmt::format("there is no key \"{}\"", key));
}

std::string spread_text(const ResolvedCase& resolved, std::string_view key) {
  const Spread spread = spread_of(resolved, key);
  if (!(spread.half_width > 0.0)) return "exact";
  const Declaration& declared = declarations().find(key)->second;
  std::string width;
  if (spread.relative) {
    width = fmt::format("{:.3g} %", spread.half_width * 100.0);
  } else {
    const double zero = from_si(0.0, declared.unit);  // a temperature's scale has another zero
    width = fmt::format("{:.3g} {}", from_si(spread.half_width, declared.unit) - zero,
                        declared.unit == units::temperature ? std::string("K") : declared.unit);
    if (declared.unit == units::one) width = fmt::format("{:.3g}", spread.half_width);
  }
  return fmt::format("\u00b1 {} ({})", width, spread.reason);
}

std::string spreads_text(const ResolvedCase& resolved) {
  std::string text;
  for (const UncertainValue& v : uncertain_values(resolved))
    text += fmt::format("{} = {}  {}\n", v.path(), v.value(), spread_text(resolved, v.path()));
  return text;
}

}  // namespace glassbowl::sim
