#include <algorithm>
#include <array>
#include <cmath>

#include "viz/cutaway/drawings.hpp"

namespace glassbowl::viz {
namespace {

constexpr double half_passage = 0.9e-3;

}  // namespace

void draw_accelerator_pump(const Scene& s, const CarburetorPlan& plan) {
  const auto& g = s.geometry;
  if (!g.pump_fitted) return;
  const double left = plan.pump_left, right = plan.pump_right, roof = plan.pump_roof;
  const double middle = 0.5 * (left + right);
  const double travel = s.value(s.signals.pump_travel);
  const double rest = roof - g.pump_stroke - 1.5e-3, skin = rest + travel;

  // Inlet from the bowl, below everything else.
  const double inlet_y = plan.foot - 9e-3, inlet_x = left + 3e-3;
  s.passage(plan.bowl_right - 5e-3, inlet_y - half_passage, inlet_x + half_passage, inlet_y + half_passage);
  s.fuel(plan.bowl_right - 5e-3, inlet_y - half_passage, inlet_x + half_passage, inlet_y + half_passage,
         Hue::pump);
  s.passage(inlet_x - half_passage, inlet_y - half_passage, inlet_x + half_passage, roof);
  s.fuel(inlet_x - half_passage, inlet_y, inlet_x + half_passage, roof, Hue::pump);
  const double down = plan.bowl_right - 5e-3;
  s.passage(down - half_passage, inlet_y - half_passage, down + half_passage, plan.bowl_floor);
  s.fuel(down - half_passage, inlet_y - half_passage, down + half_passage, plan.bowl_floor, Hue::pump);

  // Chamber above the diaphragm; below it the rod that the cam lifts.
  s.metal(left - 1.5e-3, rest - 4e-3, right + 1.5e-3, roof + 1.5e-3);
  s.canvas.rect(s.stage.area(left, rest - 2.5e-3, right, roof), s.theme.background);
  s.fuel(left, skin, right, roof, Hue::pump);
  const std::array<Point, 4> diaphragm{s.stage.at(left, rest), s.stage.at(left + 0.2 * g.pump_diameter, skin),
                                       s.stage.at(right - 0.2 * g.pump_diameter, skin),
                                       s.stage.at(right, rest)};
  s.canvas.polygon(std::array{s.stage.at(left, rest), s.stage.at(left + 0.2 * g.pump_diameter, skin),
                              s.stage.at(left, skin)},
                   s.theme.background);
  s.canvas.polyline(diaphragm, s.theme.text, 1.6F);
  s.canvas.rect(s.stage.area(middle - 1e-3, rest - 9e-3, middle + 1e-3, skin), s.theme.metal_edge);

  // Outlet to the nozzle in the bore.
  const double out_y = roof - 0.9e-3, x = plan.pump_nozzle_x;
  s.passage(x - half_passage, out_y - half_passage, left, out_y + half_passage);
  s.fuel(x - half_passage, out_y - half_passage, left, out_y + half_passage, Hue::pump);
  const double tip = g.pump_nozzle_height;
  s.passage(x - half_passage, out_y - half_passage, x + half_passage, tip);
  s.fuel(x - half_passage, out_y - half_passage, x + half_passage, tip, Hue::pump);
  s.jet(x, tip, half_passage + 0.2e-3, g.pump_nozzle, true);

  const double px = s.stage.pixels_per_m;
  const auto marks = [&](Stream stream, std::span<const Point> path) {
    const double speed = s.marks.speed(stream);
    if (std::abs(speed) > 1e-6)
      draw_marks(s.canvas, path, s.marks.distance(stream) * px, speed * s.marks.step() * px, s.theme.text,
                 1.4F);
  };
  marks(Stream::pump_inlet, std::array{s.stage.at(plan.bowl_right, inlet_y), s.stage.at(inlet_x, inlet_y),
                                       s.stage.at(inlet_x, roof)});
  marks(Stream::pump_outlet, std::array{s.stage.at(left, out_y), s.stage.at(x, out_y), s.stage.at(x, tip)});

  s.hits.add(Part::pump, s.stage.area(left, rest - 4e-3, right, roof));
  s.hits.add(Part::pump_nozzle, s.stage.area(x - half_passage, tip - 4e-3, x + half_passage, tip + 1e-3));
}

}  // namespace glassbowl::viz
