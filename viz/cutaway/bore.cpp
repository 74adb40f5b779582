#include <algorithm>
#include <cmath>

#include "viz/cutaway/drawings.hpp"

namespace glassbowl::viz {
namespace {

constexpr int slices = 120;
constexpr double wall_thickness = 2.2e-3;

/// Pressure along the bore, straight between the stations where the simulation knows it.
sf::Color pressure_at(const Scene& s, const CarburetorPlan& plan, double x) {
  struct Station {
    double x;
    int channel;
  };
  const Station stations[]{{plan.horn - 4e-3, s.signals.airbox_pressure},
                           {plan.choke_x + 5e-3, s.signals.inlet_pressure},
                           {plan.throat_x, s.signals.throat_pressure},
                           {plan.throat_x + plan.throat_half, s.signals.mixing_pressure}};
  const double ambient = s.ambient;
  if (x >= 0.0) return s.pressure(s.signals.manifold_pressure);
  double before_x = stations[0].x, before = s.value(stations[0].channel, ambient);
  for (const auto& station : stations) {
    const double p = s.value(station.channel, ambient);
    if (x < station.x) {
      const double share = station.x > before_x ? (x - before_x) / (station.x - before_x) : 1.0;
      return pressure_color(before + std::clamp(share, 0.0, 1.0) * (p - before), ambient, s.theme);
    }
    before_x = station.x;
    before = p;
  }
  return s.pressure(s.signals.mixing_pressure);
}

}  // namespace

void draw_bore(const Scene& s, const CarburetorPlan& plan) {
  const auto& g = s.geometry;
  const double lift = s.value(s.signals.piston_lift);
  const double from = plan.horn - 8e-3, to = plan.right;
  const double step = (to - from) / slices;

  // Walls: metal above and below, then the space between them shaded by pressure.
  for (int i = 0; i < slices; ++i) {
    const double x = std::max(plan.horn, from + i * step), next = from + (i + 1) * step;
    if (next <= plan.horn) continue;
    const double low = plan.lower_wall(x), low_next = plan.lower_wall(next);
    const double high = 2 * plan.axis - low, high_next = 2 * plan.axis - low_next;
    const double foot = plan.floor - wall_thickness, head = plan.roof + wall_thickness;
    const double outer = std::min(foot, low - wall_thickness),
                 outer_top = std::max(head, high + wall_thickness);
    s.canvas.quad(s.stage.at(x, low), s.stage.at(next, low_next), s.stage.at(next, outer),
                  s.stage.at(x, outer), s.theme.metal);
    const bool slide = g.vacuum_piston && std::abs(x - plan.throat_x) < plan.throat_half;
    if (!slide)
      s.canvas.quad(s.stage.at(x, high), s.stage.at(next, high_next), s.stage.at(next, outer_top),
                    s.stage.at(x, outer_top), s.theme.metal);
  }
  for (int i = 0; i < slices; ++i) {
    const double x = from + i * step, next = x + step;
    const sf::Color a = pressure_at(s, plan, x), b = pressure_at(s, plan, next);
    s.canvas.quad({s.stage.at(x, plan.upper_wall(x, lift)), s.stage.at(next, plan.upper_wall(next, lift)),
                   s.stage.at(next, plan.lower_wall(next)), s.stage.at(x, plan.lower_wall(x))},
                  {a, b, b, a});
  }
  for (int i = 0; i < slices; ++i) {
    const double x = from + i * step, next = x + step;
    if (x < plan.horn) continue;
    s.canvas.line(s.stage.at(x, plan.lower_wall(x)), s.stage.at(next, plan.lower_wall(next)),
                  s.theme.metal_edge);
    const double high = 2 * plan.axis - plan.lower_wall(x), high_next = 2 * plan.axis - plan.lower_wall(next);
    if (!g.vacuum_piston || std::abs(x - plan.throat_x) > plan.throat_half)
      s.canvas.line(s.stage.at(x, high), s.stage.at(next, high_next), s.theme.metal_edge);
  }

  s.hits.add(Part::airbox, s.stage.area(plan.bowl_left, plan.bowl_top, plan.horn, plan.roof + 4e-3));
  s.hits.add(Part::throat, s.stage.area(plan.throat_x - plan.throat_half, plan.floor,
                                        plan.throat_x + plan.throat_half, plan.roof));
  s.hits.add(Part::mixing_chamber,
             s.stage.area(plan.throat_x + plan.throat_half, plan.floor, -0.2 * g.bore, plan.roof));
  s.hits.add(Part::manifold, s.stage.area(0.35 * g.bore, plan.floor, plan.right, plan.roof));
}

}  // namespace glassbowl::viz
