#include <algorithm>
#include <array>
#include <cmath>

#include "viz/cutaway/drawings.hpp"

namespace glassbowl::viz {
namespace {

constexpr double wall = 3e-3;
constexpr double bright_burn = 0.02;  // [kg/s] of fuel that shows full colour

void draw_valve(const Scene& s, double x, double head, double diameter, double lift, Part part,
                std::size_t k) {
  const double half = 0.5 * diameter;
  const double face = head - lift;
  s.canvas.rect(s.stage.area(x - 1.6e-3, face, x + 1.6e-3, head + 30e-3), s.theme.text);
  const std::array<Point, 4> tulip{s.stage.at(x - half, face), s.stage.at(x + half, face),
                                   s.stage.at(x + 2.2e-3, face + 6e-3), s.stage.at(x - 2.2e-3, face + 6e-3)};
  s.canvas.polygon(tulip, s.theme.text);
  s.hits.add(part, s.stage.area(x - half, face - 1e-3, x + half, head + 8e-3), k);
}

}  // namespace

namespace {

/// Burning gas: a bright ground with rays, so that its form says what it is.
void draw_flame(const Scene& s, const Box& gas, float share) {
  s.canvas.rect(gas, faded(s.theme.flame, share));
  const Point spark(gas.x + 0.5F * gas.w, gas.y);
  constexpr int rays = 9;
  for (int i = 0; i < rays; ++i) {
    const float angle = 3.14159265F * (static_cast<float>(i) + 0.5F) / rays;
    const Point way(std::cos(angle), std::sin(angle));
    const float end = std::min(0.45F * gas.w, gas.h / way.y);
    s.canvas.line(spark + way * (0.3F * end), spark + way * end, faded(sf::Color(90, 60, 20), share), 1.6F);
  }
}

}  // namespace

void draw_cylinders(const Scene& s, const EnginePlan& plan) {
  const auto& g = s.geometry;
  const double half = 0.5 * g.cylinder_bore;
  const double angle = s.value(s.signals.crank_angle);
  for (std::size_t k = 0; k < plan.cylinder_x.size(); ++k) {
    const double x = plan.cylinder_x[k];
    const double drop = sim::piston_drop(g, angle - g.firing[k]);
    const double crown = plan.head - plan.clearance - drop;
    const double bottom = plan.head - plan.clearance - g.stroke - plan.skirt;

    s.metal(x - half - wall, bottom, x + half + wall, plan.head + wall);
    s.canvas.rect(s.stage.area(x - half, bottom, x + half, plan.head), s.theme.background);
    const Box gas = s.stage.area(x - half, crown, x + half, plan.head);
    s.canvas.rect(gas, s.pressure(s.signals.cylinder[k].pressure));
    const double burning = s.value(s.signals.burn_rate[k]);
    if (burning > 1e-6) {
      const auto share = static_cast<float>(std::min(1.0, std::sqrt(burning / bright_burn)));
      draw_flame(s, gas, share);
    }

    // Exhaust port stub, shaded by its own pressure.
    const double ex = x + plan.exhaust_shift, port = 0.5 * std::min(g.exhaust_valve, g.exhaust_diameter);
    const double stub = std::min(40e-3, 0.4 * g.runner_length);
    s.metal(ex - port - 2e-3, plan.head, ex + port + 2e-3, plan.head + stub);
    s.canvas.rect(s.stage.area(ex - port, plan.head - 1e-4, ex + port, plan.head + stub + 3e-3),
                  s.pressure(s.signals.exhaust[k].pressure));
    const double in = x + plan.intake_shift, runner = 0.5 * g.runner_diameter;
    s.canvas.rect(s.stage.area(in - runner, plan.head - 1e-4, in + runner, plan.head + wall + 1e-3),
                  s.pressure(s.signals.runner[k].back().pressure));

    draw_valve(s, in, plan.head, g.intake_valve, s.value(s.signals.intake_lift[k]), Part::intake_valve, k);
    draw_valve(s, ex, plan.head, g.exhaust_valve, s.value(s.signals.exhaust_lift[k]), Part::exhaust_valve, k);

    // Piston.
    const Box piston = s.stage.area(x - half + 0.3e-3, crown - plan.skirt, x + half - 0.3e-3, crown);
    s.canvas.rect(piston, s.theme.metal);
    s.canvas.frame(piston, s.theme.metal_edge, 1.2F);
    for (const double ring : {4e-3, 8e-3})
      s.canvas.line(s.stage.at(x - half + 0.5e-3, crown - ring), s.stage.at(x + half - 0.5e-3, crown - ring),
                    s.theme.metal_edge, 1.0F);
    s.canvas.ring(s.stage.at(x, crown - 0.55 * plan.skirt), s.stage.length(7e-3), s.theme.metal_edge, 1.2F);
    s.hits.add(Part::cylinder, s.stage.area(x - half, bottom, x + half, plan.head), k);
  }
}

}  // namespace glassbowl::viz
