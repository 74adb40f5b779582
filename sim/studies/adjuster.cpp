#include "sim/studies/adjuster.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "sim/api/error.hpp"
#include "sim/cases/key_units.hpp"
#include "sim/cases/quantity.hpp"

namespace glassbowl::sim {
namespace {

constexpr double same = 1e-9;  // [m] two bores are one

std::string list_text(const std::vector<double>& sizes) {
  std::string text;
  for (const double size : sizes)
    text += fmt::format("{}\"{:.9g} mm\"", text.empty() ? "" : ", ", size * 1e3);
  return "[" + text + "]";
}

}  // namespace

double Adjuster::moved(double from, int steps) const {
  if (sizes.empty()) return from + steps * step;
  if (steps == 0) return from;
  // A bore between two sizes counts as the nearer one, so that a step is never a sliver.
  from = *std::min_element(sizes.begin(), sizes.end(),
                           [&](double a, double b) { return std::abs(a - from) < std::abs(b - from); });
  for (; steps > 0; --steps) {
    const auto next = std::upper_bound(sizes.begin(), sizes.end(), from + same);
    if (next == sizes.end()) break;
    from = *next;
  }
  for (; steps < 0; ++steps) {
    const auto next = std::lower_bound(sizes.begin(), sizes.end(), from - same);
    if (next == sizes.begin()) break;
    from = *(next - 1);
  }
  return from;
}

Sets Adjuster::setting(double value) const {
  // What stands in the case already is left as it stands, so that the fitted setting is the case itself.
  if (std::abs(value - fitted) < same) return {};
  const std::string shown =
      unit == units::one ? fmt::format("{:.17g}", value) : fmt::format("\"{:.17g} m\"", value);
  Sets sets{fmt::format("{}={}", key, shown)};
  if (!undo.empty()) sets.push_back(undo);
  return sets;
}

std::string Adjuster::text(double value) const {
  return unit == units::one ? fmt::format("{:.4g} turns", value) : fmt::format("{:.4g} mm", value * 1e3);
}

bool Adjuster::leaner(double value) const {
  return !setting(value).empty() && (value > fitted) != larger_is_richer;
}

std::string leaner_than_fitted_text(const std::vector<Adjuster>& adjusters) {
  std::string text;
  for (const auto& a : adjusters)
    text += fmt::format("{}{} {} {}", text.empty() ? "Leaner than fitted here: " : ", ", a.name,
                        a.larger_is_richer ? "below" : "above", a.text(a.fitted));
  return text.empty() ? text : text + ".\n";
}

std::vector<Adjuster> adjusters_of(const ResolvedCase& resolved) {
  const auto& c = resolved.bike.carburetor;
  const auto& s = resolved.stock;
  const auto jet = [](std::string id, std::string name, const std::string& path, double fitted,
                      std::vector<double> sizes, bool richer) {
    return Adjuster{
        std::move(id), std::move(name),  path + ".bore", "mm", path + ".flow_rating=0 cm3/min", fitted,
        0.0,           std::move(sizes), richer};
  };
  std::vector<Adjuster> all{
      jet("main_jet", "main jet", "carburetor.main.jet", c.main.main_jet.bore, s.main_jet, true),
      jet("main_air_jet", "main air jet", "carburetor.main.air_jet", c.main.air_jet.bore, s.main_air_jet,
          false)};
  if (c.kind == CarburetorKind::constant_depression) {
    all.push_back({"needle_raised", "needle height", "carburetor.needle.raised", "mm", "", c.needle.raised,
                   0.0, s.needle_raised, true});
    all.push_back({"needle_jet", "needle jet", "carburetor.needle.jet_diameter", "mm", "",
                   c.needle.jet_diameter, 0.0, s.needle_jet, true});
  }
  all.push_back(jet("slow_jet", "slow jet", "carburetor.slow.jet", c.slow.fuel_jet.bore, s.slow_jet, true));
  all.push_back(jet("slow_air_jet", "slow air jet", "carburetor.slow.air_jet", c.slow.air_jet.bore,
                    s.slow_air_jet, false));
  all.push_back(
      {"screw", "mixture screw", "carburetor.screw.turns", "1", "", c.screw.turns, s.screw_step, {}, true});
  all.push_back({"float_level",
                 "float level",
                 "float.level",
                 "mm",
                 "float.height=0 mm",
                 c.bowl.level,
                 s.level_step,
                 {},
                 true});
  for (auto& a : all) std::sort(a.sizes.begin(), a.sizes.end());
  return all;
}

const Adjuster& find_adjuster(const std::vector<Adjuster>& all, const std::string& id) {
  std::string known;
  for (const auto& a : all) {
    if (a.id == id) return a;
    known += (known.empty() ? "" : ", ") + a.id;
  }
  throw Error(ErrorKind::input,
              fmt::format("\"{}\" is nothing to adjust on this carburetor; there are {}", id, known));
}

ResolvedCase with_stock(const ResolvedCase& resolved) {
  const Stock common = common_stock();
  Sets sets;
  const auto fill = [&](const char* name, const std::vector<double>& own, const std::vector<double>& list) {
    if (own.empty()) sets.push_back(fmt::format("stock.{}={}", name, list_text(list)));
  };
  const Stock& own = resolved.stock;
  fill("main_jet", own.main_jet, common.main_jet);
  fill("main_air_jet", own.main_air_jet, common.main_air_jet);
  fill("slow_jet", own.slow_jet, common.slow_jet);
  fill("slow_air_jet", own.slow_air_jet, common.slow_air_jet);
  fill("needle_jet", own.needle_jet, common.needle_jet);
  fill("needle_raised", own.needle_raised, common.needle_raised);
  return sets.empty() ? resolved : read_case_text(resolved.text, resolved.name, sets);
}

}  // namespace glassbowl::sim
