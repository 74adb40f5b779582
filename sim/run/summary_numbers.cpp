#include "sim/run/summary_numbers.hpp"

#include "models/constants.hpp"

namespace glassbowl::sim {

std::vector<std::pair<std::string, double>> blip_numbers(const BlipLag& b) {
  return {{"blip_lag_10_s", b.lag_10},
          {"blip_lag_50_s", b.lag_50},
          {"blip_lag_90_s", b.lag_90},
          {"rise_10_s", b.rise_10},
          {"rise_50_s", b.rise_50},
          {"rise_90_s", b.rise_90},
          {"yardstick_rise_10_s", b.yardstick_10},
          {"yardstick_rise_50_s", b.yardstick_50},
          {"yardstick_rise_90_s", b.yardstick_90},
          {"blip_lambda_leanest", b.leanest},
          {"blip_lambda_richest", b.richest},
          {"blip_lean_area_s", b.lean_area},
          {"blip_misfired_cycles", static_cast<double>(b.misfires)},
          {"piston_lift_50_s", b.lift_50},
          {"pump_volume_cm3", b.pump_volume * 1e6},
          {"pump_duration_s", b.pump_duration}};
}

std::vector<std::pair<std::string, double>> summary_numbers(const Summary& s) {
  std::vector<std::pair<std::string, double>> out{
      {"fuel_budget_residual", s.budget.fuel},
      {"air_budget_residual", s.budget.air},
      {"energy_budget_residual", s.budget.energy},
      {"lowest_margin", s.budget.lowest_margin},
      {"simulated_s", s.simulated},
      {"cycles", static_cast<double>(s.cycles)},
      {"air_flow", s.air_flow},
      {"fuel_flow", s.fuel_flow},
      {"lambda_carburetor", s.carburetor_lambda},
      {"lambda_mean", s.lambda.mean},
      {"lambda_leanest", s.lambda.highest},
      {"lambda_richest", s.lambda.lowest},
      {"misfired_cycles", static_cast<double>(s.misfires)},
      {"speed_mean_rpm", s.speed * 30.0 / m::constants::pi},
      {"speed_lowest_rpm", s.cycle_speed.lowest * 30.0 / m::constants::pi},
      {"speed_highest_rpm", s.cycle_speed.highest * 30.0 / m::constants::pi},
      {"torque_mean", s.torque},
      {"power_mean", s.power},
      {"manifold_pressure_mean", s.manifold_pressure},
      {"depression_mean", s.depression},
      {"bowl_level_mean", s.bowl_level.mean},
      {"bowl_level_lowest", s.bowl_level.lowest},
      {"fuel_fed", s.feed},
      {"fuel_stood_off", s.stood_off},
      {"fuel_overflowed", s.overflowed},
      {"stalled", s.ending == Ending::stalled ? 1.0 : 0.0}};
  for (const auto& c : s.circuits) out.emplace_back("circuit_share_" + c.name, c.share);
  for (std::size_t k = 0; k < s.cylinders.size(); ++k) {
    const std::string name = "cylinder_" + std::to_string(k + 1) + "_lambda_";
    out.emplace_back(name + "mean", s.cylinders[k].mean);
    out.emplace_back(name + "leanest", s.cylinders[k].highest);
    out.emplace_back(name + "richest", s.cylinders[k].lowest);
  }
  if (s.lift) {
    out.emplace_back("piston_lift_mean", s.lift->mean);
    out.emplace_back("piston_lift_highest", s.lift->highest);
  }
  if (s.blip)
    for (auto& number : blip_numbers(*s.blip)) out.push_back(std::move(number));
  return out;
}

}  // namespace glassbowl::sim
