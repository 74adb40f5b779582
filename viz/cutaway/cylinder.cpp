#include <algorithm>
#include <array>
#include <cmath>

#include "viz/cutaway/drawings.hpp"

namespace glassbowl::viz {
namespace {

constexpr double wall = 3e-3;
constexpr double bright_burn = 0.02;  // [kg/s] of fuel that shows full colour

void draw_valve(const Scene& s, double x, double head, double diameter, double lift) {
  const double half = 0.5 * diameter, face = head - lift;
  s.canvas.rect(s.stage.area(x - 1.6e-3, face, x + 1.6e-3, head + 30e-3), s.theme.text);
  const std::array<Point, 4> tulip{s.stage.at(x - half, face), s.stage.at(x + half, face),
                                   s.stage.at(x + 2.2e-3, face + 6e-3), s.stage.at(x - 2.2e-3, face + 6e-3)};
  s.canvas.polygon(tulip, s.theme.text);
}

void draw_spark_plug(const Scene& s, double x, double head) {
  s.canvas.rect(s.stage.area(x - 3e-3, head, x + 3e-3, head + 16e-3), s.theme.faint);
  s.canvas.rect(s.stage.area(x - 1.8e-3, head + 16e-3, x + 1.8e-3, head + 26e-3), s.theme.text);
  s.canvas.rect(s.stage.area(x - 0.8e-3, head - 2.5e-3, x + 0.8e-3, head), s.theme.text);
}

/// The upright box that holds a turned one.
Box turned(const Box& box, Point about, float angle) {
  const float c = std::cos(angle), sn = std::sin(angle);
  float left = 1e9F, top = 1e9F, right = -1e9F, low = -1e9F;
  for (const Point corner : {Point(box.x, box.y), Point(box.right(), box.y), Point(box.x, box.bottom()),
                             Point(box.right(), box.bottom())}) {
    const Point d = corner - about;
    const Point at = about + Point(c * d.x + sn * d.y, c * d.y - sn * d.x);
    left = std::min(left, at.x), right = std::max(right, at.x);
    top = std::min(top, at.y), low = std::max(low, at.y);
  }
  return {left, top, right - left, low - top};
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
  const double half = 0.5 * g.cylinder_bore, bottom = plan.head - plan.liner;
  const double angle = s.value(s.signals.crank_angle);
  for (std::size_t k = 0; k < plan.cylinder_x.size(); ++k) {
    const double x = plan.cylinder_x[k], side = plan.side[k];
    const double drop = sim::piston_drop(g, angle - g.firing[k]);
    const double crown = plan.head - plan.clearance - drop;
    const Point port = s.stage.at(plan.intake_x[k], plan.head);
    const auto turn = static_cast<float>(plan.tilt[k]);
    s.canvas.begin_turn();

    // Crank and rod to size; the web is round.
    const double own = angle - g.firing[k], throw_ = 0.5 * g.stroke;
    const double crank_y = plan.head - plan.crank_drop;
    const Point middle = s.stage.at(x, crank_y);
    const Point crank_pin = s.stage.at(x + throw_ * std::sin(own), crank_y + throw_ * std::cos(own));
    const Point piston_pin = s.stage.at(x, crown - plan.pin);
    if (k == 0 || !plan.vee) {
      s.canvas.disc(middle, s.stage.length(plan.crank_web), s.theme.metal);
      s.canvas.ring(middle, s.stage.length(plan.crank_web), s.theme.metal_edge, 1.2F);
      s.canvas.disc(middle, s.stage.length(7e-3), s.theme.metal_edge);
    }
    s.metal(x - half - wall, bottom, x + half + wall, plan.head + wall);
    s.canvas.rect(s.stage.area(x - half, bottom, x + half, plan.head), s.theme.background);

    const Box gas = s.stage.area(x - half, crown, x + half, plan.head);
    s.canvas.rect(gas, s.pressure(s.signals.cylinder[k].pressure));
    const double burning = s.value(s.signals.burn_rate[k]);
    if (burning > 1e-6)
      draw_flame(s, gas, static_cast<float>(std::min(1.0, std::sqrt(burning / bright_burn))));

    // Exhaust port stub, shaded by its own pressure, and the intake port.
    const double ex = x - side * plan.exhaust_shift,
                 exhaust = 0.5 * std::min(g.exhaust_valve, g.exhaust_diameter);
    const double stub = std::min(40e-3, 0.4 * g.runner_length);
    s.metal(ex - exhaust - 2e-3, plan.head, ex + exhaust + 2e-3, plan.head + stub);
    s.canvas.rect(s.stage.area(ex - exhaust, plan.head - 1e-4, ex + exhaust, plan.head + stub + 3e-3),
                  s.pressure(s.signals.exhaust[k].pressure));
    s.canvas.arrow(s.stage.at(ex, plan.head + stub + 2e-3), s.stage.at(ex, plan.head + stub + 12e-3),
                   s.theme.faint, 1.4F);
    const double in = plan.intake_x[k], runner = 0.5 * g.runner_diameter;
    s.canvas.rect(s.stage.area(in - runner, plan.head - 1e-4, in + runner, plan.head + wall + 1e-3),
                  s.pressure(s.signals.runner[k].back().pressure));

    draw_valve(s, in, plan.head, g.intake_valve, s.value(s.signals.intake_lift[k]));
    draw_valve(s, ex, plan.head, g.exhaust_valve, s.value(s.signals.exhaust_lift[k]));
    draw_spark_plug(s, x, plan.head);

    // Piston, over it the rod from pin to pin.
    const Box piston = s.stage.area(x - half + 0.3e-3, crown - plan.skirt, x + half - 0.3e-3, crown);
    s.canvas.rect(piston, s.theme.metal);
    s.canvas.frame(piston, s.theme.metal_edge, 1.2F);
    for (const double ring : {4e-3, 8e-3})
      s.canvas.line(s.stage.at(x - half + 0.5e-3, crown - ring), s.stage.at(x + half - 0.5e-3, crown - ring),
                    s.theme.metal_edge, 1.0F);
    s.canvas.line(piston_pin, crank_pin, s.theme.background, 0.9F * s.stage.length(17e-3) / s.canvas.scale());
    s.canvas.line(piston_pin, crank_pin, s.theme.metal_edge, 0.9F * s.stage.length(13e-3) / s.canvas.scale());
    for (const auto& [at, radius] : {std::pair{piston_pin, 8e-3}, {crank_pin, 11e-3}}) {
      s.canvas.disc(at, s.stage.length(radius), s.theme.metal_edge);
      s.canvas.disc(at, s.stage.length(0.5 * radius), s.theme.background);
    }
    s.canvas.end_turn(port, turn);

    const auto seen = [&](double left, double low, double right, double high) {
      return turned(s.stage.area(left, low, right, high), port, turn);
    };
    s.hits.add(
        Part::intake_valve,
        seen(in - 0.5 * g.intake_valve, plan.head - 10e-3, in + 0.5 * g.intake_valve, plan.head + 8e-3), k);
    s.hits.add(
        Part::exhaust_valve,
        seen(ex - 0.5 * g.exhaust_valve, plan.head - 10e-3, ex + 0.5 * g.exhaust_valve, plan.head + 8e-3), k);
    s.hits.add(Part::cylinder, seen(x - half, bottom, x + half, plan.head), k);
  }
}

}  // namespace glassbowl::viz
