#include "sim/cases/keys.hpp"

#include <fmt/format.h>
#include <fmt/ranges.h>

#include <algorithm>
#include <deque>
#include <map>
#include <mutex>
#include <set>
#include <stdexcept>
#include <tuple>

#include "sim/api/error.hpp"
#include "sim/cases/case_limits.hpp"
#include "sim/cases/estimate_note.hpp"
#include "sim/cases/excerpt.hpp"
#include "sim/cases/layer.hpp"
#include "sim/cases/nearest_key.hpp"
#include "sim/cases/quantity.hpp"
#include "sim/cases/value_reading.hpp"

namespace glassbowl::sim {
namespace {

std::string section_of(std::string_view path) {
  const std::size_t dot = path.rfind('.');
  return std::string(path.substr(0, dot == std::string_view::npos ? 0 : dot));
}

std::string name_in_section(std::string_view path) {
  return std::string(path.substr(path.rfind('.') + 1));
}

/// "[carburetor.main.jet] bore", or "bore" at top level.
std::string titled(std::string_view path) {
  const std::string section = section_of(path);
  return section.empty() ? name_in_section(path) : fmt::format("[{}] {}", section, name_in_section(path));
}

constexpr std::string_view own_source = "own, ";  // before the name of the case's own file

std::string one_line(std::string_view text) {
  return clipped(text, 400);
}

struct Key {
  std::string path;
  std::string meaning;
  std::string allowed;  ///< "a length, 0.2 mm to 5 mm"
  std::string example;  ///< as it would be written in a case
  std::string fallback_text;
  toml::table fallback;  ///< default under "value"; empty if the key is required
  const Layer* layer = nullptr;
  const toml::node* node = nullptr;  ///< where given
  std::string replaced{};            ///< TOML that stands in the resolved case instead
  const Key* replaced_by = nullptr;
  std::string unit{};  ///< of a quantity, of a list of them, or of the points' second column
  Spread spread{};     ///< as declared

  const toml::node* value() const { return node != nullptr ? node : fallback.get("value"); }
};

using Kind = Declaration::Kind;

struct Problem {
  std::size_t layer = 0;
  toml::source_position place{};
  std::string text;
  bool missing = false;  ///< nothing is wrong but that it is not given
};

}  // namespace

struct Keys::State {
  explicit State(Layers read) : layers(std::move(read)) {}

  Layers layers;
  std::vector<Declaration> declarations;
  std::deque<Key> keys;  // never moved: readings point into their defaults
  std::map<std::string_view, const Key*> by_path;
  std::set<std::string, std::less<>> sections;
  std::vector<Problem> problems;
  std::vector<std::string> warnings;

  const Key* find(std::string_view path) const {
    const auto found = by_path.find(path);
    return found == by_path.end() ? nullptr : found->second;
  }

  Key& add(Declaration declaration, std::string_view meaning, bool own_only = false) {
    const std::string& path = declaration.path;
    if (!is_plain_key(path) || path == "base" || path.starts_with("base.")) {
      throw std::logic_error(fmt::format("\"{}\" cannot be declared as a key", path));
    }
    if (find(path) != nullptr || sections.contains(path)) {
      throw std::logic_error(fmt::format("the key \"{}\" is declared twice, or as a section too", path));
    }
    for (std::string section = section_of(path); !section.empty(); section = section_of(section)) {
      if (find(section) != nullptr) {
        throw std::logic_error(fmt::format("\"{}\" is declared as a key and as a section", section));
      }
      sections.insert(section);
    }
    Key& key = keys.emplace_back();
    key.path = path;
    by_path[key.path] = &key;
    key.meaning = one_line(meaning);
    for (const Layer& layer : layers.all()) {
      if (own_only && !layer.is_set && !layer.is_main) continue;
      if (const toml::node* node = find_node(layer.table, path)) {
        key.layer = &layer;
        key.node = node;
        break;
      }
    }
    key.unit = declaration.unit;
    key.spread = declaration.spread;
    declaration.fault = meaning.starts_with("fault: ");
    declarations.push_back(std::move(declaration));
    return key;
  }

  /// Reads default and given value. What is wrong with the one is our mistake, with the other the user's.
  template <class T, class Read>
  T take(Key& key, std::optional<toml::table> fallback, T none, Read read) {
    T result = std::move(none);
    if (fallback) {
      key.fallback = std::move(*fallback);
      auto reading = read(*key.fallback.get("value"));
      if (const auto* complaint = std::get_if<Complaint>(&reading)) {
        throw std::logic_error(fmt::format("the default of {} is unsound: {}", key.path, complaint->wrong));
      }
      result = std::move(std::get<T>(reading));
    }
    if (key.node != nullptr) {
      auto reading = read(*key.node);
      if (const auto* complaint = std::get_if<Complaint>(&reading)) {
        report(key, *complaint->place, complaint->wrong, complaint->remedy);
      } else {
        result = std::move(std::get<T>(reading));
      }
    } else if (!fallback) {
      report_missing(key);
    }
    return result;
  }

  /// How well the value is known from which the key's comes.
  static Spread spread_of(const Key& from, Origin::Kind kind) {
    if (from.node != nullptr)
      if (auto given = first_limits(*from.node, from.unit)) return *given;
    Spread out = from.spread;
    constexpr double of_a_default = 2.0;  // nobody has looked at this part
    if (kind == Origin::Kind::fallback && out.half_width > 0.0) {
      out.half_width *= of_a_default;
      out.reason += "; a default: twice as wide";
    }
    return out;
  }

  Origin origin_of(const Key& key) const {
    Origin out = source_of(key);
    if (!(out.spread.half_width > 0.0)) out.spread = spread_of(key, out.kind);
    return out;
  }

  Origin source_of(const Key& key) const {
    const Key& from = key.replaced_by != nullptr ? *key.replaced_by : key;
    const auto* value = key.value();
    Origin out;
    out.path = key.path;
    out.meaning = key.meaning;
    if (!key.replaced.empty())
      out.value = key.replaced;
    else if (value != nullptr)
      out.value = write_value(*value);
    if (from.node == nullptr) return out.source = "default", out;
    out.source = from.layer->source;
    out.kind = from.layer->is_set || from.layer->is_main ? Origin::Kind::own : Origin::Kind::borrowed;
    if (const auto made = from.layer->made.find(from.path); made != from.layer->made.end()) {
      out.kind = made->second.kind;
      out.source = made->second.source;
      out.spread = made->second.spread;
      return out;
    }
    const auto line = from.layer->lines.find(from.path);
    if (line == from.layer->lines.end()) return out;
    // A resolved case that is read again.
    const std::string before = "  # " + from.meaning + " (";
    const std::size_t at = line->second.find(before);
    if (at == std::string::npos || !line->second.ends_with(')')) return out;
    std::string source = line->second.substr(at + before.size());
    source.pop_back();
    if (const auto estimate = read_estimate_note(source, key.unit)) {
      out.kind = Origin::Kind::estimated;
      out.source = estimate->rule;
      out.spread = estimate->spread;
      return out;
    }
    out.kind = source == "default"                                   ? Origin::Kind::fallback
               : source == "--set" || source.starts_with(own_source) ? Origin::Kind::own
                                                                     : Origin::Kind::borrowed;
    if (source.starts_with(own_source)) source.erase(0, own_source.size());
    out.source = clipped(source, 4 * limits::excerpt_chars);
    return out;
  }

  std::size_t index_of(const Layer& layer) const {
    return static_cast<std::size_t>(&layer - layers.all().data());
  }

  static std::string place_of(const Layer& layer, const toml::source_position& place) {
    return layer.is_file() ? fmt::format("{}:{}:{}", layer.name, place.line, place.column) : layer.name;
  }

  /// The value as it stands in the case.
  static std::string given_text(const Layer& layer, const toml::node& node) {
    if (layer.is_set) return clipped(layer.text, limits::excerpt_chars);
    if (node.is_table()) return "(a section)";
    if (!layer.is_file()) return write_value(node);
    const auto& source = node.source();
    std::string text = clipped(
        part_of(layer.text, source.begin.line, source.begin.column, source.end.line, source.end.column),
        limits::excerpt_chars);
    if (source.end.line != source.begin.line && !text.ends_with("...")) text += " ...";
    return text;
  }

  static std::string caret_under(const Layer& layer, const toml::source_position& place) {
    if (!layer.is_file()) return {};
    const std::string lines = caret(layer.text, place.line, place.column);
    return lines.empty() ? lines : "\n" + lines;
  }

  void report(const Key& key, const toml::node& at, std::string_view wrong, std::string_view remedy) {
    const Layer& layer = *key.layer;
    const auto place = at.source().begin;
    problems.push_back({index_of(layer), place,
                        fmt::format("{}: {} = {}: {}; {}{}", place_of(layer, place), titled(key.path),
                                    given_text(layer, *key.node), wrong, remedy, caret_under(layer, place))});
  }

  void report_missing(const Key& key) {
    Problem problem{layers.all().size(), {}, layers.name(), true};
    // The section may stand somewhere; then the key is missing there.
    for (const Layer& layer : layers.all()) {
      const toml::node* section = find_node(layer.table, section_of(key.path));
      if (section == nullptr || !section->is_table() || !layer.is_file()) continue;
      problem = {index_of(layer), section->source().begin, place_of(layer, section->source().begin), true};
      break;
    }
    problem.text += fmt::format(": {} is missing: {}; {} is needed, such as {} = {}", titled(key.path),
                                key.meaning, key.allowed, name_in_section(key.path), key.example);
    problems.push_back(std::move(problem));
  }

  std::string remedy_for_unknown(const std::string& path, bool is_section) const {
    std::vector<std::string> known;
    if (is_section) {
      known.assign(sections.begin(), sections.end());
    } else {
      for (const Key& key : keys) known.push_back(key.path);
    }
    const std::string nearest = nearest_key(path, known);
    const std::string section = section_of(path);
    if (!nearest.empty()) {
      const bool same = section_of(nearest) == section && !is_section;
      return is_section ? fmt::format("did you mean [{}]?", nearest)
                        : fmt::format("did you mean \"{}\"?", same ? name_in_section(nearest) : nearest);
    }
    std::vector<std::string> siblings;
    for (const std::string& candidate : known) {
      if (section_of(candidate) == section) siblings.push_back(name_in_section(candidate));
    }
    if (siblings.size() > 12) {
      siblings.resize(12);
      siblings.push_back("...");
    }
    const std::string what = is_section ? "sections" : "keys";
    if (siblings.empty()) return fmt::format("there are no {} of this kind here; remove it", what);
    return fmt::format("the {} {} are {}", what,
                       section.empty() ? "at top level" : fmt::format("of [{}]", section),
                       fmt::join(siblings, ", "));
  }

  void find_unknown(const Layer& layer, const toml::table& table, const std::string& prefix,
                    std::vector<Problem>& found) const {
    for (const auto& entry : table) {
      const auto& name = entry.first;
      const auto& node = entry.second;
      if (found.size() >= limits::problems_counted) return;
      if (prefix.empty() && name.str() == "base" && !layer.is_set) continue;  // read with the files
      const std::string path = prefix + std::string(name.str());
      const bool plain = is_plain_key(name.str()) && name.str().find('.') == std::string_view::npos;
      const auto place = name.source().begin;
      const auto add = [&](const std::string& wrong, const std::string& remedy) {
        // A name that needs quotes may hold dots, which part no sections.
        const std::string section = section_of(prefix);
        const std::string quoted =
            fmt::format("{}\"{}\"", section.empty() ? "" : "[" + section + "] ", name.str());
        const std::string shown = clipped(plain ? titled(path) : quoted, limits::excerpt_chars);
        const std::string what = node.is_table() ? fmt::format("[{}]", clipped(path, limits::excerpt_chars))
                                                 : fmt::format("{} = {}", shown, given_text(layer, node));
        found.push_back({index_of(layer), place,
                         fmt::format("{}: {}: {}; {}{}", place_of(layer, place), what, wrong, remedy,
                                     caret_under(layer, place))});
      };
      if (!plain) {
        add("there is no such key", "keys of a case consist of letters, digits, - and _");
      } else if (const Key* key = find(path)) {
        // If it is the one that counts, it was reported when it was read.
        if (node.is_table() && key->node != &node) {
          add("this is a section, but it is declared as a value", "give " + key->allowed);
        }
      } else if (sections.contains(path)) {
        if (const auto* section = node.as_table()) {
          find_unknown(layer, *section, path + ".", found);
        } else {
          add("this is a section with keys of its own, not a value",
              fmt::format("write [{}] and its keys", path));
        }
      } else if (node.is_table()) {
        add("there is no such section", remedy_for_unknown(path, true));
      } else {
        add("there is no such key", remedy_for_unknown(path, false));
      }
    }
  }

  bool estimates() const {
    const Key* key = find("estimate");
    return key != nullptr && key->node != nullptr && key->node->value_or(false);
  }

  /// Whether a file that the case builds on has anything of a case in it.
  bool is_case(const Layer& layer) const {
    if (!layer.is_file() || layer.is_main || layer.table.empty()) return true;
    return std::any_of(layer.table.begin(), layer.table.end(), [&](const auto& entry) {
      const std::string_view name = entry.first.str();
      return name == "base" || find(name) != nullptr || sections.contains(name);
    });
  }

  /// Sections in the order of their first key; keys at top level come first, as TOML demands.
  std::vector<std::pair<std::string, std::vector<const Key*>>> grouped() const {
    std::vector<std::pair<std::string, std::vector<const Key*>>> groups{{"", {}}};
    for (const Key& key : keys) {
      const std::string section = section_of(key.path);
      auto group =
          std::find_if(groups.begin(), groups.end(), [&](const auto& g) { return g.first == section; });
      if (group == groups.end()) group = groups.insert(groups.end(), {section, {}});
      group->second.push_back(&key);
    }
    return groups;
  }

  template <class Write>
  std::string written(Write write) const {
    std::string text;
    for (const auto& [section, members] : grouped()) {
      if (members.empty()) continue;
      if (!section.empty()) text += fmt::format("{}[{}]\n", text.empty() ? "" : "\n", section);
      for (const Key* key : members) text += write(*key);
    }
    return text;
  }
};

namespace {

/// Defaults are the same each time, and most of what reading a case costs is to parse them.
std::optional<toml::table> value_table(Keys::Fallback fallback) {
  static std::mutex mutex;
  static std::map<std::string, toml::table, std::less<>> parsed;
  if (!fallback) return std::nullopt;
  const std::lock_guard lock(mutex);
  auto known = parsed.find(*fallback);
  if (known == parsed.end()) known = parsed.emplace(*fallback, parse_value(*fallback)).first;
  return known->second;
}

/// For keys whose value is text in any case: a default of "true" is a word.
std::optional<toml::table> text_table(Keys::Fallback fallback) {
  if (!fallback) return std::nullopt;
  toml::table table;
  table.insert("value", std::string(*fallback));
  return table;
}

std::string with_range(std::string name, std::string_view unit, Range range) {
  const std::string allowed = range_text(unit, range);
  return allowed.empty() ? name : name + ", " + allowed;
}

Wanted wanted_number(std::string_view unit, Range range) {
  return {unit, range, example_in(unit, range)};
}

std::string spelled(const Wanted& wanted) {
  return wanted.unit == units::one ? wanted.example : "\"" + wanted.example + "\"";
}

}  // namespace

Keys::Keys(Layers layers) : state_(std::make_unique<State>(std::move(layers))) {}

Keys::~Keys() = default;

void Keys::quantity(std::string_view path, double& target, std::string_view unit, Range range,
                    Fallback fallback, std::string_view text, Spread spread) {
  Key& key = state_->add({.path = std::string(path),
                          .kind = Kind::quantity,
                          .unit = std::string(unit),
                          .range = range,
                          .spread = std::move(spread)},
                         text);
  Wanted wanted = wanted_number(unit, range);
  if (fallback) wanted.example = *fallback;
  key.allowed = with_range(dimension_name(unit), unit, range);
  key.example = spelled(wanted);
  target = state_->take(key, value_table(fallback), std::numeric_limits<double>::quiet_NaN(),
                        [&](const toml::node& node) { return read_number(node, wanted); });
}

void Keys::quantities(std::string_view path, std::vector<double>& target, std::string_view unit, Range range,
                      std::size_t max_count, Fallback fallback, std::string_view text, Spread spread) {
  Key& key = state_->add({.path = std::string(path),
                          .kind = Kind::quantities,
                          .unit = std::string(unit),
                          .range = range,
                          .max_count = max_count,
                          .spread = std::move(spread)},
                         text);
  Wanted wanted = wanted_number(unit, range);
  if (range.lowest == 0.0) wanted.example = example_in(unit, {0, 0});  // angles of firing begin at none
  key.allowed =
      fmt::format("an array of up to {}, each {}", max_count, with_range(dimension_name(unit), unit, range));
  key.example = "[" + spelled(wanted) + "]";
  target = state_->take(key, value_table(fallback), std::vector<double>(),
                        [&](const toml::node& node) { return read_numbers(node, wanted, max_count); });
}

void Keys::points(std::string_view path, std::vector<Point>& target, std::string_view unit_x,
                  std::string_view unit_y, Range range_x, Range range_y, Fallback fallback,
                  std::string_view text, Spread spread) {
  Key& key = state_->add({.path = std::string(path),
                          .kind = Kind::points,
                          .unit = std::string(unit_y),
                          .unit_x = std::string(unit_x),
                          .range = range_y,
                          .range_x = range_x,
                          .max_count = limits::points,
                          .spread = std::move(spread)},
                         text);
  Wanted x = wanted_number(unit_x, range_x);
  const Wanted y = wanted_number(unit_y, range_y);
  if (range_x.lowest <= 0.0 && range_x.highest >= 0.0) x.example = fmt::format("0 {}", unit_x);
  key.allowed =
      fmt::format("a table of points, each {} and {}", with_range(dimension_name(unit_x), unit_x, range_x),
                  with_range(dimension_name(unit_y), unit_y, range_y));
  key.example = fmt::format("[[{}, {}]]", spelled(x), spelled(y));
  target = state_->take(key, value_table(fallback), std::vector<Point>(),
                        [&](const toml::node& node) { return read_points(node, x, y); });
}

void Keys::integer(std::string_view path, int& target, int lowest, int highest, Fallback fallback,
                   std::string_view text) {
  Key& key = state_->add(
      {.path = std::string(path), .kind = Kind::integer, .range = {double(lowest), double(highest)}}, text);
  key.allowed = fmt::format("a whole number, {} to {}", lowest, highest);
  key.example = fmt::format("{}", lowest);
  target = state_->take(key, value_table(fallback), lowest,
                        [&](const toml::node& node) { return read_integer(node, lowest, highest); });
}

void Keys::flag(std::string_view path, bool& target, Fallback fallback, std::string_view text) {
  declare_flag({.path = std::string(path), .kind = Kind::flag}, target, fallback, text, false);
}

void Keys::own_flag(std::string_view path, bool& target, Fallback fallback, std::string_view text) {
  declare_flag({.path = std::string(path), .kind = Kind::flag}, target, fallback, text, true);
}

void Keys::declare_flag(Declaration declaration, bool& target, Fallback fallback, std::string_view text,
                        bool own_only) {
  Key& key = state_->add(std::move(declaration), text, own_only);
  key.allowed = "true or false";
  key.example = "true";
  target = state_->take(key, value_table(fallback), false, read_flag);
}

void Keys::text(std::string_view path, std::string& target, Fallback fallback, std::string_view text) {
  Key& key = state_->add({.path = std::string(path), .kind = Kind::text}, text);
  key.allowed = "text";
  key.example = "\"...\"";
  target = state_->take(key, text_table(fallback), std::string(), read_plain_text);
}

std::optional<std::ptrdiff_t> Keys::choose(std::string_view path, const std::vector<std::string_view>& names,
                                           Fallback fallback, std::string_view text) {
  if (names.empty()) throw std::logic_error(fmt::format("the key \"{}\" is declared without choices", path));
  Key& key = state_->add(
      {.path = std::string(path), .kind = Kind::choice, .names = {names.begin(), names.end()}}, text);
  key.allowed = fmt::format("one of \"{}\"", fmt::join(names, "\", \""));
  key.example = fmt::format("\"{}\"", names.front());
  const std::ptrdiff_t index = state_->take(key, text_table(fallback), std::ptrdiff_t{-1},
                                            [&](const toml::node& node) { return read_choice(node, names); });
  return index < 0 ? std::nullopt : std::optional(index);
}

bool Keys::given(std::string_view path) const {
  return std::any_of(state_->layers.all().begin(), state_->layers.all().end(),
                     [&](const Layer& layer) { return find_node(layer.table, path) != nullptr; });
}

std::optional<bool> Keys::second_is_nearer(std::string_view first, std::string_view second) const {
  const auto place = [&](std::string_view path) {
    const Key* key = state_->find(path);
    if (key == nullptr) throw std::logic_error(fmt::format("the place of the undeclared key \"{}\"", path));
    // Overrides are one place, whatever their order.
    if (key->node == nullptr) return state_->layers.all().size();
    return key->layer->is_set ? 0 : state_->index_of(*key->layer);
  };
  const std::size_t a = place(first), b = place(second);
  return a == b ? std::nullopt : std::optional(b < a);
}

void Keys::replace(std::string_view path, std::string value, std::string_view by) {
  auto* key = const_cast<Key*>(state_->find(path));
  if (key == nullptr || state_->find(by) == nullptr)
    throw std::logic_error(fmt::format("\"{}\" or \"{}\" is no declared key", path, by));
  key->replaced = std::move(value);
  key->replaced_by = state_->find(by);
}

bool Keys::is_default(std::string_view path) const {
  const Key* key = state_->find(path);
  if (key == nullptr) throw std::logic_error(fmt::format("the origin of the undeclared key \"{}\"", path));
  return state_->origin_of(*key).kind == Origin::Kind::fallback;
}

bool Keys::is_estimated(std::string_view path) const {
  const Key* key = state_->find(path);
  if (key == nullptr) throw std::logic_error(fmt::format("the origin of the undeclared key \"{}\"", path));
  return state_->origin_of(*key).kind == Origin::Kind::estimated;
}

bool Keys::sound() const {
  return state_->problems.empty();
}

void Keys::problem(std::string_view path, std::string_view message, std::string_view remedy) {
  const Key* key = state_->find(path);
  if (key == nullptr) throw std::logic_error(fmt::format("a problem of the undeclared key \"{}\"", path));
  if (key->node != nullptr) return state_->report(*key, *key->node, message, remedy);
  const auto* value = key->value();
  state_->problems.push_back(
      {state_->layers.all().size(),
       {},
       fmt::format("{}: {}{}: {}; {}", state_->layers.name(), titled(path),
                   value == nullptr ? "" : fmt::format(" = {} (default)", write_value(*value)), message,
                   remedy)});
}

void Keys::warning(std::string_view path, std::string_view message) {
  const Key* key = state_->find(path);
  if (key == nullptr) throw std::logic_error(fmt::format("a warning of the undeclared key \"{}\"", path));
  const auto* value = key->value();
  const std::string place =
      key->node != nullptr ? State::place_of(*key->layer, key->node->source().begin) : state_->layers.name();
  const std::string shown = key->node != nullptr ? " = " + State::given_text(*key->layer, *key->node)
                            : value != nullptr   ? " = " + write_value(*value) + " (default)"
                                                 : "";
  state_->warnings.push_back(fmt::format("{}: {}{}: {}", place, titled(path), shown, message));
}

void Keys::finish() {
  std::vector<Problem> found = state_->problems;
  for (const Layer& layer : state_->layers.all()) {
    if (state_->is_case(layer)) {
      state_->find_unknown(layer, layer.table, "", found);
    } else {  // a stranger's base may name any file, so nothing of it is shown
      found.push_back({state_->index_of(layer),
                       {},
                       fmt::format("{}: this is no case: it has no section and no key of one; remove it from "
                                   "the bases",
                                   layer.name)});
    }
  }
  if (found.empty()) return;
  // What cannot be estimated because a value is wrong is no problem of its own.
  const auto is_missing = [](const Problem& problem) { return problem.missing; };
  if (state_->estimates() && !std::all_of(found.begin(), found.end(), is_missing))
    std::erase_if(found, is_missing);
  std::stable_sort(found.begin(), found.end(), [](const Problem& a, const Problem& b) {
    return std::tie(a.layer, a.place.line, a.place.column) < std::tie(b.layer, b.place.line, b.place.column);
  });
  std::string message;
  for (std::size_t i = 0; i < std::min(found.size(), limits::problems_shown); ++i)
    message += found[i].text + "\n";
  if (found.size() > limits::problems_shown) {
    message += fmt::format("... and {} more\n", found.size() - limits::problems_shown);
  }
  message += fmt::format("{}{} problem{} in {}", found.size(),
                         found.size() >= limits::problems_counted ? " or more" : "",
                         found.size() == 1 ? "" : "s", state_->layers.name());
  throw Error(ErrorKind::case_file, message);
}

const std::vector<std::string>& Keys::warnings() const {
  return state_->warnings;
}

const std::vector<Declaration>& Keys::declarations() const {
  return state_->declarations;
}

std::vector<KeyText> Keys::texts() const {
  std::vector<KeyText> out;
  for (const Key& key : state_->keys) {
    const toml::node* fallback = key.fallback.get("value");
    out.push_back({key.meaning, key.allowed, key.example, fallback == nullptr ? "" : write_value(*fallback)});
  }
  return out;
}

std::vector<Origin> Keys::origins() const {
  std::vector<Origin> out;
  for (const Key& key : state_->keys) out.push_back(state_->origin_of(key));
  return out;
}

std::string Keys::resolved() const {
  return state_->written([this](const Key& key) {
    if (key.value() == nullptr)
      return fmt::format("# {} is missing  # {}\n", name_in_section(key.path), key.meaning);
    const Origin origin = state_->origin_of(key);
    if (origin.kind == Origin::Kind::estimated)
      return fmt::format("{} = {}  # {} ({})\n", name_in_section(key.path), origin.value, key.meaning,
                         estimate_note(origin.spread, key.unit, origin.source));
    const bool own_file = origin.kind == Origin::Kind::own && origin.source != "--set";
    return fmt::format("{} = {}  # {} ({}{})\n", name_in_section(key.path), origin.value, key.meaning,
                       own_file ? own_source : "", origin.source);
  });
}

std::string Keys::listing() const {
  return state_->written([](const Key& key) {
    const toml::node* fallback = key.fallback.get("value");
    return fmt::format("# {}: {}{}\n{} = {}\n", key.meaning, key.allowed,
                       fallback == nullptr ? "; required" : "", name_in_section(key.path),
                       fallback == nullptr ? key.example : write_value(*fallback));
  });
}

}  // namespace glassbowl::sim
