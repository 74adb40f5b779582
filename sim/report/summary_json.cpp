#include "sim/report/summary_json.hpp"

#include <cmath>
#include <nlohmann/json.hpp>

#include "models/constants.hpp"
#include "sim/run/summary_numbers.hpp"
#include "sim/run/version.hpp"

namespace glassbowl::sim {
namespace {

using Json = nlohmann::ordered_json;

Json number(double value) {
  return std::isfinite(value) ? Json(value) : Json(nullptr);
}

double per_minute(double speed) {
  return speed * 30.0 / m::constants::pi;
}

Json spread(const Spread& s, double scale = 1.0) {
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

void add_blip(const BlipLag& b, Json& out, Json& without_fuel) {
  for (const auto& [name, value] : blip_numbers(b))
    out[name] = name.find("_lambda_") != std::string::npos ? lambda_or_null(value, name, without_fuel)
                                                           : number(value);
  out["blip_misfired_cycles"] = b.misfires;
  out["blip_judged_by"] = b.torque ? "torque" : "speed";
  out["blip_start_s"] = number(b.start);
  out["blip_end_s"] = number(b.end);
  out["blip_note"] = b.note.empty() ? Json(nullptr) : Json(b.note);
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
  out["settle_s"] = number(s.settle);
  out["simulated_s"] = number(s.simulated);
  out["wall_s"] = number(s.wall);
  out["realtime_factor"] = number(s.realtime_factor());
  out["cycles"] = s.cycles;
  out["rate_evaluations"] = s.evaluations;

  out["air_flow_g_s"] = number(s.air_flow * 1e3);
  out["fuel_flow_g_s"] = number(s.fuel_flow * 1e3);
  Json shares = Json::object(), flows = Json::object();
  for (const auto& c : s.circuits) {
    shares[c.name] = number(c.share);
    flows[c.name] = number(c.flow * 1e3);
  }
  out["circuit_share"] = shares;
  out["circuit_flow_g_s"] = flows;
  Json without_fuel = Json::array();
  const auto lambda = [&](const std::string& name, double value) {
    return lambda_or_null(value, name, without_fuel);
  };
  const bool none_at_all = s.simulated > 0.0 && !(s.fuel_flow > 0.0);
  out["lambda_carburetor"] = lambda("lambda_carburetor", none_at_all ? INFINITY : s.carburetor_lambda);
  out["lambda_mean"] = lambda("lambda_mean", s.lambda.mean);
  out["lambda_leanest"] = lambda("lambda_leanest", s.lambda.highest);
  out["lambda_richest"] = lambda("lambda_richest", s.lambda.lowest);
  out["cylinders"] = Json::array();
  for (std::size_t k = 0; k < s.cylinders.size(); ++k) {
    const std::string name = "cylinder_" + std::to_string(k + 1) + "_lambda_";
    const Spread& c = s.cylinders[k];
    out["cylinders"].push_back({{"lambda_mean", lambda(name + "mean", c.mean)},
                                {"lambda_leanest", lambda(name + "leanest", c.highest)},
                                {"lambda_richest", lambda(name + "richest", c.lowest)}});
  }
  out["misfired_cycles"] = s.misfires;

  out["speed_mean_rpm"] = number(per_minute(s.speed));
  out["speed_lowest_rpm"] = number(per_minute(s.cycle_speed.lowest));
  out["speed_highest_rpm"] = number(per_minute(s.cycle_speed.highest));
  out["torque_mean_N_m"] = number(s.torque);
  out["indicated_torque_mean_N_m"] = number(s.indicated);
  out["friction_torque_mean_N_m"] = number(s.friction);
  out["power_mean_kW"] = number(s.power * 1e-3);
  out["manifold_pressure_mean_kPa"] = number(s.manifold_pressure * 1e-3);
  out["depression_mean_kPa"] = number(s.depression * 1e-3);
  out["piston_lift_mm"] = s.lift ? spread(*s.lift, 1e3) : Json(nullptr);
  out["bowl_level_mm"] = spread(s.bowl_level, 1e3);
  out["fuel_fed_g"] = number(s.feed * 1e3);
  out["fuel_stood_off_g"] = number(s.stood_off * 1e3);
  out["fuel_overflowed_g"] = number(s.overflowed * 1e3);

  if (s.blip) add_blip(*s.blip, out, without_fuel);
  out["null_because_no_fuel"] = without_fuel;

  out["fuel_budget_residual"] = number(s.budget.fuel);
  out["air_budget_residual"] = number(s.budget.air);
  out["energy_budget_residual"] = number(s.budget.energy);
  out["energy_budget_volume"] = s.budget.energy_volume;
  out["lowest_margin"] = number(s.budget.lowest_margin);
  out["lowest_margin_state"] = s.budget.lowest_margin_name;
  return out.dump(2, ' ', true, Json::error_handler_t::replace);
}

}  // namespace glassbowl::sim
