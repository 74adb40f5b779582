#include "sim/report/summary_json.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "sim/run/summary_numbers.hpp"
#include "sim/run/version.hpp"

namespace glassbowl::sim {
namespace {

using Json = nlohmann::ordered_json;

Json number(double value) {
  return std::isfinite(value) ? Json(value) : Json(nullptr);
}

Json spread(const MeanAndRange& s, double scale = 1.0) {
  return {{"mean", number(s.mean * scale)},
          {"lowest", number(s.lowest * scale)},
          {"highest", number(s.highest * scale)}};
}

/// Lambda where there is fuel to speak of. Elsewhere null, and `without_fuel` gets the name.
Json lambda_or_null(double lambda, const std::string& name, Json& without_fuel) {
  if (!no_fuel(lambda)) return number(lambda);
  without_fuel.push_back(name);
  return nullptr;
}

Json stall_json(const Stall& s) {
  const char* cause = s.cause == StallCause::lean      ? "mixture too lean"
                      : s.cause == StallCause::rich    ? "mixture too rich"
                      : s.cause == StallCause::unlit   ? "burnable mixture not lit"
                      : s.cause == StallCause::unknown ? "no cycle completed"
                                                       : "too little torque";
  Json out{{"time_s", number(s.time)},
           {"during_warm_up", s.warming_up},
           {"cause", cause},
           {"cylinder", s.cylinder},
           {"misfires_in_a_row", s.in_a_row}};
  out["lambda_last_cycles"] = Json::array();  // null: no fuel
  for (const double lambda : s.lambda)
    out["lambda_last_cycles"].push_back(no_fuel(lambda) ? Json(nullptr) : number(lambda));
  out["fuel_delivered_g_s"] = number(s.delivered * 1e3);
  out["fuel_needed_g_s"] = number(s.needed * 1e3);
  out["circuit_flow_g_s"] = {{"idle", number(s.idle * 1e3)},
                             {"ports", number(s.ports * 1e3)},
                             {"main", number(s.main * 1e3)},
                             {"pump", number(s.pump * 1e3)},
                             {"enrichment", number(s.enrichment * 1e3)}};
  out["try"] = s.advice;
  return out;
}

const char* word(Ending ending) {
  switch (ending) {
    case Ending::stalled:
      return "stalled";
    case Ending::interrupted:
      return "interrupted";
    case Ending::complete:
      break;
  }
  return "complete";
}

/// All figures of the table that JSON says by one number.
void add_figures(const Summary& s, Json& out, Json& without_fuel) {
  using Kind = SummaryFigure::Kind;
  const bool none_at_all = s.simulated > 0.0 && !(s.fuel_flow > 0.0);
  for (const auto& f : summary_figures(s)) {
    if (f.json.empty()) continue;
    if (f.kind == Kind::whole)
      out[f.json] = static_cast<long>(f.value);
    else if (f.kind == Kind::lambda)
      out[f.json] = lambda_or_null(none_at_all && f.json == "lambda_carburetor" ? INFINITY : f.value, f.json,
                                   without_fuel);
    else
      out[f.json] = number(f.value * f.json_scale);
  }
}

}  // namespace

std::string summary_json(const Summary& s) {
  Json out;
  out["case"] = s.name;
  out["title"] = s.title;
  out["program_version"] = program_version();
  out["status"] = s.status;
  out["ending"] = word(s.ending);
  out["stalled"] = s.ending == Ending::stalled;
  out["stall"] = s.stall ? stall_json(*s.stall) : Json(nullptr);
  out["warnings"] = s.warnings;
  out["values"] = s.provenance;
  Json without_fuel = Json::array();
  add_figures(s, out, without_fuel);
  Json shares = Json::object(), flows = Json::object();
  for (const auto& c : s.circuits) {
    shares[c.name] = number(c.share);
    flows[c.name] = number(c.flow * 1e3);
  }
  out["circuit_share"] = shares;
  out["circuit_flow_g_s"] = flows;
  out["cylinders"] = Json::array();
  const auto lambda = [&](const std::string& name, double value) {
    return lambda_or_null(value, name, without_fuel);
  };
  for (std::size_t k = 0; k < s.cylinders.size(); ++k) {
    const std::string name = "cylinder_" + std::to_string(k + 1) + "_lambda_";
    const MeanAndRange& c = s.cylinders[k];
    out["cylinders"].push_back({{"lambda_mean", lambda(name + "mean", c.mean)},
                                {"lambda_leanest", lambda(name + "leanest", c.highest)},
                                {"lambda_richest", lambda(name + "richest", c.lowest)}});
  }
  out["piston_lift_mm"] = s.lift ? spread(*s.lift, 1e3) : Json(nullptr);
  out["bowl_level_mm"] = spread(s.bowl_level, 1e3);
  if (s.blip) {
    out["blip_judged_by"] = s.blip->torque ? "torque" : "speed";
    out["blip_note"] = s.blip->note.empty() ? Json(nullptr) : Json(s.blip->note);
  }
  out["null_because_no_fuel"] = without_fuel;

  out["energy_budget_volume"] = s.budget.energy_volume;
  out["lowest_margin_state"] = s.budget.lowest_margin_name;
  return out.dump(2, ' ', true, Json::error_handler_t::replace);
}

}  // namespace glassbowl::sim
