#include <algorithm>
#include <array>
#include <cmath>

#include "viz/cutaway/drawings.hpp"

namespace glassbowl::viz {

void draw_enrichment(const Scene& s, const CarburetorPlan& plan) {
  const auto& g = s.geometry;
  if (!g.enrichment_fitted) return;
  const double half = std::max(0.8e-3, 0.5 * g.enrichment.passage_diameter);
  const double x = plan.enrichment_x, feed_y = plan.foot - 9e-3;
  const double lifted = std::clamp(s.value(s.signals.choke), 0.0, 1.0);
  const double seat = plan.floor - 5e-3, plunger_half = 2.5e-3;

  s.passage(plan.bowl_right - 5e-3, feed_y - half, x + half, feed_y + half);
  const double down = plan.bowl_right - 5e-3;
  s.passage(down - half, feed_y - half, down + half, plan.bowl_floor);
  s.fuel(down - half, feed_y - half, down + half, plan.bowl_floor, Hue::enrichment);
  s.passage(x - half, feed_y - half, x + half, seat - 6e-3);
  s.fuel(plan.bowl_right - 5e-3, feed_y - half, x + half, feed_y + half, Hue::enrichment);
  const double full = g.fuel_density * 0.25 * 3.14159265 * g.enrichment.passage_diameter *
                      g.enrichment.passage_diameter * (g.enrichment.height - plan.foot);
  const double share =
      std::clamp(s.value(s.now.source().find("enrichment_riser_fuel")) / std::max(1e-12, full), 0.0, 1.0);
  s.fuel(x - half, feed_y, x + half, feed_y + share * (seat - 6e-3 - feed_y), Hue::enrichment);
  s.jet(x, feed_y + 4e-3, half, g.enrichment.jet, true);

  // Plunger beside its outlet: lifted, it leaves the way to the manifold free.
  s.metal(x - plunger_half - 1e-3, seat - 6e-3, x + plunger_half + 7e-3, seat + 2e-3);
  s.canvas.rect(s.stage.area(x - plunger_half, seat - 5e-3, x + plunger_half, seat + 1e-3),
                s.theme.background);
  s.canvas.rect(s.stage.area(x - half, seat, x + half, plan.floor), s.theme.background);
  if (s.value(s.signals.enrichment_flow) > 1e-9)
    s.fuel(x - half, seat - 5e-3, x + half, plan.floor, Hue::enrichment);
  const double move = lifted * 4e-3;
  s.canvas.rect(s.stage.area(x - plunger_half + move, seat - 1.2e-3, x + plunger_half + move, seat + 0.8e-3),
                s.theme.text);
  s.canvas.rect(
      s.stage.area(x + plunger_half + move, seat - 0.5e-3, x + plunger_half + 6e-3 + move, seat + 0.2e-3),
      s.theme.text);

  const double px = s.stage.pixels_per_m, speed = s.marks.speed(Stream::enrichment);
  if (std::abs(speed) > 1e-6)
    draw_marks(
        s.canvas,
        std::array{s.stage.at(plan.bowl_right, feed_y), s.stage.at(x, feed_y), s.stage.at(x, seat - 6e-3)},
        s.marks.distance(Stream::enrichment) * px, speed * s.marks.step() * px, s.theme.text, 1.4F);
  s.hits.add(Part::enrichment,
             s.stage.area(x - plunger_half - 1e-3, seat - 6e-3, x + plunger_half + 7e-3, plan.floor));
}

}  // namespace glassbowl::viz
