#include "sim/run/summary_numbers.hpp"

#include "models/constants.hpp"

namespace glassbowl::sim {
namespace {

constexpr auto whole = SummaryFigure::Kind::whole, lambda = SummaryFigure::Kind::lambda;

double rpm(double speed) {
  return speed * 30.0 / m::constants::pi;
}
double count(long number) {
  return static_cast<double>(number);
}

/// A figure that is called the same in both.
SummaryFigure both(double value, const std::string& name, SummaryFigure::Kind kind = {}) {
  return {value, name, name, 1.0, kind};
}

void add_blip(const BlipLag& b, std::vector<SummaryFigure>& out) {
  for (const auto& figure : {both(b.lag_10, "blip_lag_10_s"),
                             both(b.lag_50, "blip_lag_50_s"),
                             both(b.lag_90, "blip_lag_90_s"),
                             both(b.rise_10, "rise_10_s"),
                             both(b.rise_50, "rise_50_s"),
                             both(b.rise_90, "rise_90_s"),
                             both(b.yardstick_10, "yardstick_rise_10_s"),
                             both(b.yardstick_50, "yardstick_rise_50_s"),
                             both(b.yardstick_90, "yardstick_rise_90_s"),
                             both(b.leanest, "blip_lambda_leanest", lambda),
                             both(b.richest, "blip_lambda_richest", lambda),
                             both(b.lean_area, "blip_lean_area_s"),
                             both(count(b.misfires), "blip_misfired_cycles", whole),
                             both(b.lift_50, "piston_lift_50_s"),
                             {b.pump_volume * 1e6, "pump_volume_cm3", "pump_volume_cm3"},
                             both(b.pump_duration, "pump_duration_s"),
                             {b.start, "", "blip_start_s"},
                             {b.end, "", "blip_end_s"}})
    out.push_back(figure);
}

}  // namespace

std::vector<SummaryFigure> summary_figures(const Summary& s) {
  std::vector<SummaryFigure> out{
      {s.settle, "", "settle_s"},
      both(s.simulated, "simulated_s"),
      {s.wall, "", "wall_s"},
      {s.realtime_factor(), "", "realtime_factor"},
      both(count(s.cycles), "cycles", whole),
      {count(s.evaluations), "", "rate_evaluations", 1.0, whole},
      {s.air_flow, "air_flow", "air_flow_g_s", 1e3},
      {s.fuel_flow, "fuel_flow", "fuel_flow_g_s", 1e3},
      both(s.carburetor_lambda, "lambda_carburetor", lambda),
      both(s.lambda.mean, "lambda_mean", lambda),
      both(s.lambda.highest, "lambda_leanest", lambda),
      both(s.lambda.lowest, "lambda_richest", lambda),
      both(count(s.misfires), "misfired_cycles", whole),
      both(rpm(s.speed), "speed_mean_rpm"),
      both(rpm(s.cycle_speed.lowest), "speed_lowest_rpm"),
      both(rpm(s.cycle_speed.highest), "speed_highest_rpm"),
      {s.torque, "torque_mean", "torque_mean_N_m"},
      {s.indicated, "", "indicated_torque_mean_N_m"},
      {s.friction, "", "friction_torque_mean_N_m"},
      {s.power, "power_mean", "power_mean_kW", 1e-3},
      {s.manifold_pressure, "manifold_pressure_mean", "manifold_pressure_mean_kPa", 1e-3},
      {s.depression, "depression_mean", "depression_mean_kPa", 1e-3},
      {s.bowl_level.mean, "bowl_level_mean", ""},
      {s.bowl_level.lowest, "bowl_level_lowest", ""},
      {s.feed, "fuel_fed", "fuel_fed_g", 1e3},
      {s.stood_off, "fuel_stood_off", "fuel_stood_off_g", 1e3},
      {s.overflowed, "fuel_overflowed", "fuel_overflowed_g", 1e3},
      {s.ending == Ending::stalled ? 1.0 : 0.0, "stalled", ""},
      both(s.budget.fuel, "fuel_budget_residual"),
      both(s.budget.air, "air_budget_residual"),
      both(s.budget.energy, "energy_budget_residual"),
      both(s.budget.lowest_margin, "lowest_margin")};
  for (const auto& c : s.circuits) out.push_back({c.share, "circuit_share_" + c.name, ""});
  for (std::size_t k = 0; k < s.cylinders.size(); ++k) {
    const std::string name = "cylinder_" + std::to_string(k + 1) + "_lambda_";
    out.push_back({s.cylinders[k].mean, name + "mean", ""});
    out.push_back({s.cylinders[k].highest, name + "leanest", ""});
    out.push_back({s.cylinders[k].lowest, name + "richest", ""});
  }
  if (s.lift) {
    out.push_back({s.lift->mean, "piston_lift_mean", ""});
    out.push_back({s.lift->highest, "piston_lift_highest", ""});
  }
  if (s.blip) add_blip(*s.blip, out);
  return out;
}

std::vector<std::pair<std::string, double>> summary_numbers(const Summary& summary) {
  std::vector<std::pair<std::string, double>> out;
  for (const auto& f : summary_figures(summary))
    if (!f.number.empty()) out.emplace_back(f.number, f.value);
  return out;
}

}  // namespace glassbowl::sim
