#include "sim/solver/cycle.hpp"

namespace glassbowl::sim {

void find_cycle_between(const StateMap& states, double stoichiometric, const std::vector<double>& first,
                        double t_first, const std::vector<double>& last, double t_last, Cycle& c) {
  c.start = t_first;
  c.duration = t_last - t_first;
  const auto mean = [&](double begin, double end) { return (end - begin) / c.duration; };
  const auto& carburetor = states.carburetors.front();
  const auto a = carburetor.totals.load(first.data()), b = carburetor.totals.load(last.data());
  c.air_flow = mean(a.air, b.air);
  c.idle = mean(a.idle, b.idle);
  c.main = mean(a.main, b.main);
  c.pump = mean(a.pump, b.pump);
  c.enrichment = mean(a.enrichment, b.enrichment);
  c.fuel_flow = c.idle + c.main + c.pump + c.enrichment;
  c.ports.resize(carburetor.port_fuel.count);
  for (std::size_t i = 0; i < c.ports.size(); ++i) {
    const std::size_t at = carburetor.port_fuel[i];
    c.ports[i] = mean(first[at], last[at]);
    c.fuel_flow += c.ports[i];
  }
  c.lambda = c.fuel_flow > 0.0 ? c.air_flow / (c.fuel_flow * stoichiometric) : 0.0;
  c.manifold_pressure = mean(a.manifold_pressure, b.manifold_pressure);
  c.depression = mean(a.depression, b.depression);
  c.has_piston = carburetor.piston.fitted();
  c.lift = mean(a.piston_lift, b.piston_lift);
  const auto from = states.totals.load(first.data()), to = states.totals.load(last.data());
  c.speed = mean(from.speed, to.speed);
  const double turned = to.speed - from.speed;
  c.indicated_torque = (to.indicated_work - from.indicated_work) / turned;
  c.friction_torque = (to.friction_work - from.friction_work) / turned;
  c.torque = (to.brake_work - from.brake_work) / turned;
}

}  // namespace glassbowl::sim
