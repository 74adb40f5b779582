#include "sim/solver/cycle.hpp"

namespace glassbowl::sim {

Cycle cycle_between(const Layout& l, double stoichiometric, const std::vector<double>& a, double t_a,
                    const std::vector<double>& b, double t_b) {
  Cycle c;
  c.start = t_a;
  c.duration = t_b - t_a;
  const auto mean = [&](std::size_t i) { return (b[i] - a[i]) / c.duration; };
  c.speed = mean(l.speed);
  c.air_flow = mean(l.carburetor_air);
  c.idle = mean(l.by_idle);
  c.main = mean(l.by_main);
  c.pump = mean(l.by_pump);
  c.enrichment = mean(l.by_enrichment);
  c.fuel_flow = c.idle + c.main + c.pump + c.enrichment;
  for (std::size_t i = 0; i < l.ports; ++i) {
    c.ports.push_back(mean(l.by_port + i));
    c.fuel_flow += c.ports.back();
  }
  c.lambda = c.fuel_flow > 0.0 ? c.air_flow / (c.fuel_flow * stoichiometric) : 0.0;
  const double turned = b[l.speed] - a[l.speed];
  c.indicated_torque = (b[l.indicated_work] - a[l.indicated_work]) / turned;
  c.friction_torque = (b[l.friction_work] - a[l.friction_work]) / turned;
  c.torque = (b[l.brake_work] - a[l.brake_work]) / turned;
  c.manifold_pressure = mean(l.manifold_pressure);
  c.depression = mean(l.depression);
  c.lift = mean(l.piston_lift);
  return c;
}

}  // namespace glassbowl::sim
