#include "sim/run/stall.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <initializer_list>
#include <tuple>

namespace glassbowl::sim {
namespace {

constexpr std::size_t kept = 6;           // cycles
constexpr double lean = 1.1, rich = 0.7;  // [-] lambda; between them most engines fire
constexpr double small_opening = 0.15;    // [-] throttle up to which the slow circuit feeds an engine
constexpr double off_level = 3e-3;        // [m] from the level fitted: supply or float is at fault
constexpr long a_habit = 2;               // misfires in a row that stop an engine, or one in its only cycle

/// Lambda of several charges by fuel per air, as a single one may have next to none.
double mean_of(const std::vector<double>& lambda) {
  double strength = 0.0;
  for (const double l : lambda) strength += 1.0 / l;
  return static_cast<double>(lambda.size()) / strength;
}

/// "clear the slow jet (carburetor.slow.jet.blocked = 90 % in this case)" for each of these jets that is
/// partly blocked in the case.
void clear_jets(std::initializer_list<std::tuple<const char*, const char*, const m::Jet<double>*>> jets,
                std::vector<std::string>& advice) {
  for (const auto& [name, key, jet] : jets)
    if (jet->blocked > 0.0)
      advice.push_back(
          fmt::format("clear the {} ({}.blocked = {:.3g} % in this case)", name, key, 100.0 * jet->blocked));
}

std::vector<std::string> advice_for(StallCause cause, const Bike<double>& bike, const Outputs<double>& s) {
  const auto& c = bike.carburetor;
  const bool piston = c.kind == CarburetorKind::constant_depression;
  const double above = s.carburetor.front().bowl.level - c.bowl.level;
  std::vector<std::string> advice;
  const auto& spark = bike.engine.combustion;
  if (cause != StallCause::unlit && (spark.weak_spark > 0.0 || spark.retard_error > 0.0))
    advice.emplace_back("check the spark (this case has it weak or late)");
  switch (cause) {
    case StallCause::lean:
      if (above < -off_level)
        advice.push_back(fmt::format(
            "check fuel tap, strainer and float needle (the fuel level is {:.1f} mm too low)", -above * 1e3));
      if (s.controls.throttle < small_opening) {
        clear_jets({{"slow jet", "carburetor.slow.jet", &c.slow.fuel_jet},
                    {"main jet", "carburetor.main.jet", &c.main.main_jet}},
                   advice);
        advice.insert(advice.end(), {"mixture screw further out", "larger slow jet", "higher idle stop"});
      } else {
        clear_jets({{"main jet", "carburetor.main.jet", &c.main.main_jet}}, advice);
        advice.emplace_back("larger main jet");
        if (piston) advice.emplace_back("needle higher");
        advice.emplace_back("check for air leaks behind the carburetor");
      }
      break;
    case StallCause::rich:
      if (s.controls.choke > 0.0)
        advice.emplace_back(c.enrichment.fitted ? "enrichment plunger down" : "choke open");
      if (above > off_level)
        advice.push_back(
            fmt::format("check float and float needle (the fuel level is {:.1f} mm too high)", above * 1e3));
      if (s.controls.throttle < small_opening && !(s.controls.choke > 0.0))
        advice.emplace_back("higher idle stop");
      clear_jets({{"slow air jet", "carburetor.slow.air_jet", &c.slow.air_jet},
                  {"main air jet", "carburetor.main.air_jet", &c.main.air_jet}},
                 advice);
      advice.insert(advice.end(), {"check for blocked air jets, worn jets, clogged filter",
                                   s.controls.throttle < small_opening ? "mixture screw further in"
                                                                       : "check the float level"});
      break;
    case StallCause::unlit:
      advice.insert(advice.end(), {"check the spark (weak or late)", "higher idle stop or more throttle"});
      break;
    case StallCause::unknown:
      advice.insert(advice.end(),
                    {"longer pull of the starter", "higher speed at which the load is released"});
      break;
    case StallCause::weak:
      advice.insert(advice.end(), {"higher idle stop or more throttle", "less load or a lower gear",
                                   "check the spark timing"});
      break;
  }
  return advice;
}

}  // namespace

void StallWatch::cycle(const Cycle& cycle) {
  in_a_row_.resize(cycle.cylinders.size());
  for (std::size_t k = 0; k < in_a_row_.size(); ++k)
    in_a_row_[k] = misfired(cycle.cylinders[k].ignited) ? in_a_row_[k] + 1 : 0;
  last_.push_back(cycle);
  if (last_.size() > kept) last_.pop_front();
}

Stall StallWatch::explain(Simulation& simulation, double settle) const {
  Stall out;
  out.warming_up = simulation.time() < 0.0;
  out.time = simulation.time() + (out.warming_up ? settle : 0.0);
  const auto& bike = simulation.network().bike();
  if (!last_.empty()) {
    const auto worst = std::max_element(in_a_row_.begin(), in_a_row_.end()) - in_a_row_.begin();
    out.cylinder = worst + 1;
    out.in_a_row = in_a_row_[static_cast<std::size_t>(worst)];
    double duration = 0.0, air = 0.0;
    for (const Cycle& c : last_) {
      if (const auto& charge = c.cylinders[static_cast<std::size_t>(worst)]; charge.mass > 0.0)
        out.lambda.push_back(charge.lambda);
      duration += c.duration;
      air += c.air_flow * c.duration;
      const auto add = [&](double& sum, double flow) { sum += flow * c.duration; };
      add(out.delivered, c.fuel_flow);
      add(out.idle, c.idle);
      for (const double port : c.ports) add(out.ports, port);
      add(out.main, c.main);
      add(out.pump, c.pump);
      add(out.enrichment, c.enrichment);
    }
    for (double* flow : {&out.delivered, &out.idle, &out.ports, &out.main, &out.pump, &out.enrichment})
      *flow /= duration;
    out.needed = air / duration / bike.fuel.stoichiometric_ratio;
  }
  if (out.lambda.empty()) {
    out.cause = StallCause::unknown;
  } else if (out.in_a_row < std::min(a_habit, static_cast<long>(last_.size()))) {
    out.cause = StallCause::weak;
  } else {
    const double lambda = mean_of(out.lambda);
    // A charge may be lean for a moment only, while a wall film takes up what the carburetor delivers.
    out.cause = lambda > lean && out.delivered < out.needed ? StallCause::lean
                : lambda < rich                             ? StallCause::rich
                                                            : StallCause::unlit;
  }
  out.advice = advice_for(out.cause, bike, simulation.outputs());
  return out;
}

}  // namespace glassbowl::sim
