#include <cmath>

#include "viz/cutaway/drawings.hpp"

namespace glassbowl::viz {
namespace {

constexpr double thickness = 1.2e-3;

}  // namespace

PlateEnds plate_ends(const sim::DrawingDimensions& g, const CarburetorPlan& plan, double angle) {
  // The plate is an ellipse that seals at the closed angle, so it is a little longer than the bore is wide.
  const double half = 0.5 * g.bore / std::cos(g.closed_angle);
  const double along = half * std::sin(angle), up = half * std::cos(angle);
  return {-along, plan.axis - up, along, plan.axis + up};
}

void draw_throttle_plate(const Scene& s, const CarburetorPlan& plan) {
  const double angle = s.value(s.signals.plate_angle, s.geometry.idle_stop);
  const PlateEnds ends = plate_ends(s.geometry, plan, angle);
  const Point lower = s.stage.at(ends.lower_x, ends.lower_y), upper = s.stage.at(ends.upper_x, ends.upper_y);
  const float width = std::max(2.5F * s.canvas.scale(), s.stage.length(thickness));
  s.canvas.line(lower, upper, s.theme.text, width / s.canvas.scale());
  const Point shaft = s.stage.at(0.0, plan.axis);
  s.canvas.disc(shaft, s.stage.length(0.5 * s.geometry.shaft), s.theme.metal);
  s.canvas.ring(shaft, s.stage.length(0.5 * s.geometry.shaft), s.theme.text, 1.2F);
  const float low_x = std::min(lower.x, upper.x), low_y = std::min(lower.y, upper.y);
  s.hits.add(Part::throttle_plate,
             {low_x - width, low_y, std::abs(upper.x - lower.x) + 2 * width, std::abs(upper.y - lower.y)});
}

}  // namespace glassbowl::viz
