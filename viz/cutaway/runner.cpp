#include <algorithm>
#include <cmath>

#include "viz/cutaway/drawings.hpp"

namespace glassbowl::viz {
namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double wall = 2e-3;
constexpr double thin_film = 25e-6;  // [m] shown as one pixel: a film's true thickness would not show

}  // namespace

void draw_runners(const Scene& s, const EnginePlan& plan) {
  const auto& g = s.geometry;
  const double half = 0.5 * g.runner_diameter;
  for (std::size_t k = 0; k < plan.cylinder_x.size(); ++k) {
    const double x = plan.intake_x[k];
    s.metal(x - half - wall, plan.head, x + half + wall, plan.plenum_bottom);
    const auto& cells = s.signals.runner[k];
    const double cell = g.runner_length / static_cast<double>(cells.size());
    for (std::size_t i = 0; i < cells.size(); ++i) {
      const double top = plan.runner_top - static_cast<double>(i) * cell;
      s.canvas.rect(s.stage.area(x - half, top - cell, x + half, i == 0 ? top + wall : top),
                    s.pressure(cells[i].pressure));
    }
    // Film: its mean thickness on the runner's wall, enlarged so that it can be seen.
    const double mass = s.value(s.signals.film[k]);
    const double thickness = mass / (g.fuel_density * pi * g.runner_diameter * g.runner_length);
    const float shown = std::min(s.stage.length(0.35 * half),
                                 static_cast<float>(thickness / thin_film) * s.canvas.scale() * 3.0F);
    const Box left = s.stage.area(x - half, plan.head, x - half, plan.runner_top);
    const Box right = s.stage.area(x + half, plan.head, x + half, plan.runner_top);
    const sf::Color blue = color_of(Hue::film, s.theme);
    for (const Box& box :
         {Box{left.x, left.y, shown, left.h}, Box{right.x - shown, right.y, shown, right.h}}) {
      s.canvas.rect(box, faded(blue, 0.75F));
      s.canvas.pattern(box, pattern_of(Hue::film), faded(s.theme.text, 0.5F));
      s.hits.add(Part::film, {box.x - 2, box.y, box.w + 4, box.h}, k);
    }
    s.hits.add(Part::runner, s.stage.area(x - half, plan.head + 6e-3, x + half, plan.runner_top), k);
  }
}

}  // namespace glassbowl::viz
