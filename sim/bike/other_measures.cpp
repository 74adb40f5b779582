#include "sim/bike/other_measures.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "models/engine/crank_geometry.hpp"
#include "sim/cases/quantity.hpp"

namespace glassbowl::sim {
namespace {

constexpr double pi = m::constants::pi;
constexpr double outlet_discharge = 0.7;  // [-] of a silencer's outlet behind its baffles
constexpr double no_less = 1e-12;

double pump_stroke(const KnownValues& k) {
  return k.number("carburetor.pump.volume") / circle(k.number("carburetor.pump.diaphragm_diameter"));
}

double stop_angle(const KnownValues& k) {
  const double closed = k.number("carburetor.throttle.closed_angle");
  const double part = 2.0 * k.number("carburetor.throttle.idle_gap") / k.number("carburetor.throttle.bore");
  return std::acos(std::clamp(std::cos(closed) * (1.0 - part), 0.0, 1.0));
}

double displacement_of(const KnownValues& k) {
  const double bore = k.number("engine.bore"), stroke = k.number("engine.stroke");
  return circle(bore) * stroke * static_cast<double>(k.numbers("engine.firing").size());
}

double filter_area(const KnownValues& k) {
  return filter_opening(k.number("inlet.filter_paper"), k.word("inlet.filter_kind"), displacement_of(k),
                        k.number("engine.stroke"));
}

double silencer_area(const KnownValues& k) {
  return outlet_discharge * circle(k.number("silencer.outlet_bore")) * k.number("silencer.outlets");
}

/// Refuses two ways of saying one size that disagree; of two places the nearer counts.
void settle(Keys& keys, const char* path, const char* means, const char* none, double measured, double size,
            double counts) {
  if (!(measured > no_less)) return;
  const auto nearer = keys.second_is_nearer(means, path);
  if (nearer && !*nearer) return keys.replace(path, none, means);
  constexpr double same = 0.02;
  const DeclaredKey* key = find_declared(means);
  if (!(std::abs(counts - size) <= same * std::abs(counts)))
    keys.problem(path,
                 fmt::format("this means {} = {}, but {} is given", means, format(size, key->unit),
                             format(counts, key->unit)),
                 "give one of them");
}

}  // namespace

double filter_opening(double medium_area, std::string_view kind, double displacement, double stroke) {
  constexpr double density = 1.2, piston_speed = 12.0, volumetric = 0.85;   // at full power
  const double permeability = kind == "paper" ? 0.5 / 200.0 : 1.6 / 200.0;  // [m/s/Pa]
  const double flow = volumetric * displacement * piston_speed / (2.0 * stroke) / 2.0;
  const double loss = flow / medium_area / permeability;
  return flow * std::sqrt(density / (2.0 * loss));
}

const std::vector<OtherMeasure>& other_measures() {
  static const std::vector<OtherMeasure> all{
      {"carburetor.pump.volume", "carburetor.pump.stroke", pump_stroke},
      {"carburetor.throttle.idle_gap", "carburetor.throttle.idle_stop", stop_angle},
      {"inlet.filter_paper", "inlet.filter_area", filter_area},
      {"silencer.outlet_bore", "silencer.area", silencer_area},
  };
  return all;
}

void declare_other_measures(Keys& keys, const Bike<double>& bike) {
  bool estimate = false, best_idle = false, pod = false;
  int cylinders = 0, kind = 0, outlets = 1;
  double idle_speed = 0.0, displacement = 0.0, gap = 0.0, volume = 0.0, paper = 0.0, outlet = 0.0;
  keys.flag("estimate", estimate, "false",
            "estimate what neither this case nor what it builds on gives, by the rules that check shows");
  keys.quantity("idle_speed", idle_speed, units::revolutions_per_minute, {0, 4000}, "0 rpm",
                "idle speed for which the idle stop is found, in place of its angle, warm and in neutral; 0 "
                "for none");
  keys.flag("best_idle", best_idle, "false",
            "find the mixture screw's turns of best idle, in place of giving them");
  keys.quantity("engine.displacement", displacement, "cm3", {0, 3000}, "0 cm3",
                "of all cylinders, for estimates; 0 for none");
  keys.integer("engine.cylinders", cylinders, 0, static_cast<int>(max_cylinders), "0",
               "for estimates, in place of firing: even firing; 0 for none");
  keys.quantity("carburetor.throttle.idle_gap", gap, "mm", {0, 5}, "0 mm",
                "feeler that just passes between plate and bore on the idle stop, in place of its angle; 0 "
                "for none");
  keys.quantity("carburetor.pump.volume", volume, "cm3", {0, 20}, "0 cm3",
                "pumped by one full stroke, in place of stroke; 0 for none");
  keys.quantity("inlet.filter_paper", paper, "cm2", {0, 20000}, "0 cm2",
                "area of the filter's paper, foam or gauze, folds laid flat, in place of filter_area; 0 for "
                "none");
  keys.choice("inlet.filter_kind", kind, {{"paper", 0}, {"foam", 1}, {"gauze", 2}}, "paper",
              "what the air passes through");
  keys.flag("inlet.pod", pod, "false", "whether the filter sits on the carburetor, without an airbox");
  keys.quantity("silencer.outlet_bore", outlet, "mm", {0, 100}, "0 mm",
                "of each silencer's outlet, in place of area; 0 for none");
  keys.integer("silencer.outlets", outlets, 1, 8, "1", "silencers with this outlet");
  if (!keys.sound()) return;

  const auto& c = bike.carburetor;
  const auto& e = bike.engine;
  const double swept = m::displacement(e.crank) * static_cast<double>(e.firing.size());
  settle(keys, "carburetor.pump.volume", "carburetor.pump.stroke", "\"0 cm3\"", volume,
         volume / circle(c.pump.diaphragm_diameter), c.pump.stroke);
  settle(keys, "carburetor.throttle.idle_gap", "carburetor.throttle.idle_stop", "\"0 mm\"", gap,
         std::acos(std::cos(c.throttle.closed_angle) * (1.0 - 2.0 * gap / c.throttle.bore)), c.idle_stop);
  settle(keys, "inlet.filter_paper", "inlet.filter_area", "\"0 cm2\"", paper,
         filter_opening(paper, kind == 0 ? "paper" : "foam", swept, e.crank.stroke), bike.path.filter_area);
  settle(keys, "silencer.outlet_bore", "silencer.area", "\"0 mm\"", outlet,
         outlet_discharge * circle(outlet) * outlets, bike.path.silencer_area);

  constexpr double same_displacement = 0.03;
  if (displacement > 0.0 && std::abs(swept - displacement) > same_displacement * swept)
    keys.problem("engine.displacement",
                 fmt::format("bore and stroke of {} cylinders make {:.0f} cm3", e.firing.size(), swept * 1e6),
                 "check bore, stroke and cylinders, or leave displacement out");
  if (cylinders > 0 && static_cast<std::size_t>(cylinders) != e.firing.size())
    keys.problem("engine.cylinders", fmt::format("engine.firing names {} cylinders", e.firing.size()),
                 "one firing angle for each cylinder, or leave cylinders out");
  // What is set by hand is no target any more.
  const char* stop = "carburetor.throttle.idle_stop";
  if (idle_speed > 0.0 && !keys.is_estimated(stop)) {
    const auto nearer = keys.second_is_nearer(stop, "idle_speed");
    if (!nearer)
      keys.problem("idle_speed", "the idle stop is given, too, which decides the idle speed",
                   "give one of idle_speed and carburetor.throttle.idle_stop");
    else if (!*nearer)
      keys.replace("idle_speed", "\"0 rpm\"", stop);
  }
  const char* turns = "carburetor.screw.turns";
  if (best_idle && !keys.is_estimated(turns)) {
    const auto nearer = keys.second_is_nearer(turns, "best_idle");
    if (!nearer)
      keys.problem("best_idle", "the mixture screw's turns are given, too",
                   "give one of best_idle and carburetor.screw.turns");
    else if (!*nearer)
      keys.replace("best_idle", "false", turns);
  }
}

}  // namespace glassbowl::sim
