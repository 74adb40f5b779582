#include <algorithm>
#include <cmath>

#include "viz/cutaway/drawings.hpp"

namespace glassbowl::viz {

double choke_angle(double closure) {
  return 0.5 * 3.14159265358979323846 * (1.0 - std::clamp(closure, 0.0, 1.0));
}

void draw_choke_plate(const Scene& s, const CarburetorPlan& plan) {
  if (!s.geometry.choke_fitted) return;
  const double angle = choke_angle(s.value(s.signals.choke));
  const double half = 0.5 * s.geometry.choke_bore - 0.3e-3;
  const double along = half * std::sin(angle), up = half * std::cos(angle);
  const Point a = s.stage.at(plan.choke_x - along, plan.axis - up),
              b = s.stage.at(plan.choke_x + along, plan.axis + up);
  s.canvas.line(a, b, s.theme.faint, std::max(2.0F, s.stage.length(1e-3) / s.canvas.scale()));
  s.canvas.disc(s.stage.at(plan.choke_x, plan.axis), s.stage.length(2.5e-3), s.theme.faint);
  const double reach = std::max(along, 2.5e-3), height = std::max(up, 2.5e-3);
  s.hits.add(Part::choke_plate, s.stage.area(plan.choke_x - reach, plan.axis - height, plan.choke_x + reach,
                                             plan.axis + height));
}

}  // namespace glassbowl::viz
