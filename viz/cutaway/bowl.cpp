#include <algorithm>
#include <array>
#include <cmath>

#include "viz/cutaway/drawings.hpp"

namespace glassbowl::viz {
namespace {

constexpr double wall = 2e-3;

}  // namespace

void draw_bowl(const Scene& s, const CarburetorPlan& plan) {
  const auto& g = s.geometry;
  const double level = s.value(s.signals.bowl_level, g.bowl_set_level);
  const double left = plan.bowl_left, right = plan.bowl_right, floor = plan.bowl_floor;

  s.metal(left - wall, floor - wall, right + wall, plan.bowl_top + wall);
  s.canvas.rect(s.stage.area(left, floor, right, plan.bowl_top),
                s.pressure(g.bowl_vented_to_airbox ? s.signals.airbox_pressure : s.signals.ambient_pressure));
  s.fuel(left, floor, right, std::min(level, plan.bowl_top), Hue::fuel);
  s.canvas.line(s.stage.at(left, level), s.stage.at(right, level), s.theme.text, 1.4F);

  // Float: it hangs on the level, and its lever moves the needle valve.
  const double float_width = std::min(0.62 * (right - left), std::sqrt(g.float_area));
  const double float_left = left + 0.12 * (right - left);
  const double float_bottom = level - 8e-3, float_top = level + 4e-3;
  const Box body =
      s.stage.area(float_left, std::max(floor, float_bottom), float_left + float_width, float_top);
  s.canvas.rect(body, s.theme.panel);
  s.canvas.frame(body, s.theme.metal_edge, 1.2F);
  const double pin_x = right - 3e-3, pin_y = g.bowl_set_level + 6e-3;
  const Point pin = s.stage.at(pin_x, pin_y);
  s.canvas.line(s.stage.at(float_left + float_width, float_top - 2e-3), pin, s.theme.metal_edge, 2.0F);
  s.canvas.disc(pin, 2.5F * s.canvas.scale(), s.theme.metal_edge);

  // Needle valve in its seat, fed from above.
  const double valve_x = float_left + float_width + 0.5 * (pin_x - float_left - float_width);
  const double open = std::clamp((g.bowl_set_level - level) * g.lever_ratio, 0.0, 3e-3);
  const double seat_y = plan.bowl_top - 1e-3, half = 0.5 * g.seat_bore;
  s.passage(valve_x - half, seat_y, valve_x + half, plan.bowl_top + wall + 3e-3);
  s.fuel(valve_x - half, seat_y, valve_x + half, plan.bowl_top + wall + 3e-3, Hue::fuel);
  const double tip = seat_y - open;
  const std::array<Point, 3> cone{s.stage.at(valve_x, tip + 1.2e-3),
                                  s.stage.at(valve_x + half + 0.4e-3, tip - 1e-3),
                                  s.stage.at(valve_x - half - 0.4e-3, tip - 1e-3)};
  s.canvas.polygon(cone, s.theme.text);
  s.canvas.rect(s.stage.area(valve_x - half - 0.4e-3, tip - 4e-3, valve_x + half + 0.4e-3, tip - 1e-3),
                s.theme.text);
  // The needle stands on the float's arm.
  const double arm_x = float_left + float_width, arm_y = float_top - 2e-3;
  const double foot = arm_y + (pin_y - arm_y) * (valve_x - arm_x) / std::max(1e-4, pin_x - arm_x);
  if (foot < tip - 4e-3)
    s.canvas.rect(s.stage.area(valve_x - 0.5e-3, foot, valve_x + 0.5e-3, tip - 4e-3), s.theme.text);
  s.canvas.disc(s.stage.at(valve_x, foot), 2.0F * s.canvas.scale(), s.theme.metal_edge);
  const double fed = s.marks.distance(Stream::feed) * s.stage.pixels_per_m;
  const double fed_step = s.marks.speed(Stream::feed) * s.marks.step() * s.stage.pixels_per_m;
  if (s.value(s.signals.feed_flow) > 1e-7) {
    const std::array<Point, 2> path{s.stage.at(valve_x, plan.bowl_top + wall + 3e-3),
                                    s.stage.at(valve_x, level)};
    draw_marks(s.canvas, path, fed, fed_step, color_of(Hue::fuel, s.theme), 2.0F);
  }

  // Datum: where every height is counted from.
  s.canvas.line(s.stage.at(left - wall, 0), s.stage.at(left + 4e-3, 0), s.theme.text, 1.0F);

  s.hits.add(Part::float_valve, s.stage.area(valve_x - half - 1e-3, tip - 4e-3, valve_x + half + 1e-3,
                                             plan.bowl_top + wall + 3e-3));
  s.hits.add(Part::bowl, s.stage.area(left, floor, right, plan.bowl_top));
}

}  // namespace glassbowl::viz
