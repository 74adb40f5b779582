#include "sim/bike/completion.hpp"

#include <cmath>
#include <optional>
#include <utility>

#include <fmt/format.h>

#include "sim/bike/estimates.hpp"
#include "sim/bike/other_measures.hpp"
#include "sim/cases/quantity.hpp"

namespace glassbowl::sim {
namespace {

constexpr std::size_t nowhere = static_cast<std::size_t>(-1);
constexpr const char* stop = "carburetor.throttle.idle_stop";
constexpr const char* turns = "carburetor.screw.turns";
constexpr const char* unsolved = "first guess, not computed yet";

void put(toml::table& table, std::string_view path, const toml::node& value) {
  toml::table* place = &table;
  for (std::size_t dot = path.find('.'); dot != std::string_view::npos; dot = path.find('.')) {
    const auto name = path.substr(0, dot);
    if (place->get(name) == nullptr) place->insert(name, toml::table());
    place = place->get_as<toml::table>(name);
    path.remove_prefix(dot + 1);
  }
  value.visit([&](const auto& node) { place->insert(path, node); });
}

void add(Layer& layer, const std::string& path, const std::string& value, Made made) {
  put(layer.table, path, *parse_value(value).get("value"));
  layer.made.insert_or_assign(path, std::move(made));
}

/// The layer nearest to the case that gives this key.
std::size_t place_of(const Layers& layers, std::string_view path) {
  const auto& all = layers.all();
  for (std::size_t i = 0; i < all.size(); ++i)
    if (find_node(all[i].table, path) != nullptr) return i;
  return nowhere;
}

void convert_measures(Layers& layers, const KnownValues& known) {
  for (const OtherMeasure& other : other_measures()) {
    const std::size_t at = place_of(layers, other.path);
    if (at == nowhere || place_of(layers, other.means) <= at || !(known.number(other.path) > 0.0)) continue;
    const double si = other.value(known);
    if (!std::isfinite(si)) continue;
    const Layer& from = layers.all()[at];
    Layer layer;
    layer.name = from.name;
    layer.source = from.source;
    const bool own = from.is_set || from.is_main;
    const DeclaredKey* key = find_declared(other.means);
    add(layer, other.means, fmt::format("\"{:.17g} {}\"", from_si(si, key->unit), key->unit),
        {own ? Origin::Kind::own : Origin::Kind::borrowed, from.source, {}});
    layers.insert(at + 1, std::move(layer));
  }
}

/// Puts what was found, or a guess, under the target at layer `at`.
void set_target(Layers& layers, std::size_t at, const char* path, const FoundValues& found,
                const std::string& guess, double half_width) {
  Layer layer;
  layer.name = layers.all()[at].name;
  layer.source = "found";
  const auto known = found.find(path);
  const bool solved = known != found.end();
  const std::string words = solved ? known->second.words : unsolved;
  add(layer, path, solved ? known->second.value : guess,
      {Origin::Kind::estimated, words, {half_width, false, words}});
  layers.insert(at + 1, std::move(layer));
}

}  // namespace

OpenTargets complete(Layers& layers, const FoundValues& found) {
  OpenTargets open;
  KnownValues known(layers);
  convert_measures(layers, known);
  constexpr double degree = m::constants::pi / 180.0;
  const bool estimate = known.flag("estimate");
  const double idle_speed = known.number("idle_speed");

  // A target counts where it stands nearer to the case than the size itself.
  const std::size_t idle_at = idle_speed > 0.0 ? place_of(layers, "idle_speed") : nowhere;
  const bool seek_stop = idle_at != nowhere && place_of(layers, stop) > idle_at;
  const std::size_t best_at = known.flag("best_idle") ? place_of(layers, "best_idle") : nowhere;
  const bool seek_turns = (best_at != nowhere && place_of(layers, turns) > best_at) ||
                          (estimate && seek_stop && place_of(layers, turns) == nowhere);
  if (seek_turns) set_target(layers, best_at != nowhere ? best_at : idle_at, turns, found, "2.0", 0.5);
  if (seek_stop) {
    // Sizes of the plate may be estimates themselves.
    KnownValues trial(layers);
    if (estimate) estimate_missing(trial);
    set_target(layers, idle_at, stop, found,
               fmt::format("\"{:.4f} deg\"", idle_stop_guess(trial, idle_speed) / degree), 0.15 * degree);
  }
  if (seek_stop && !found.contains(stop)) open.idle_speed = idle_speed;
  open.best_idle = seek_turns && !found.contains(turns);

  if (estimate) {
    KnownValues all(layers);
    const auto estimates = estimate_missing(all);
    Layer layer;
    layer.name = layers.name() + ": estimated";
    layer.source = "estimated";
    for (const Estimate& e : estimates)
      add(layer, e.path, e.value, {Origin::Kind::estimated, e.spread.reason, e.spread});
    if (!estimates.empty()) layers.insert(layers.all().size(), std::move(layer));
    convert_measures(layers, KnownValues(layers));
  }
  return open;
}

}  // namespace glassbowl::sim
