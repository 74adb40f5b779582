#include "viz/cutaway/drawings.hpp"

namespace glassbowl::viz {

void draw_manifold(const Scene& s, const EnginePlan& plan) {
  constexpr double wall = 2e-3;
  s.metal(plan.left, plan.plenum_bottom - wall, plan.plenum_right + wall, plan.plenum_top + wall);
  s.canvas.rect(s.stage.area(plan.left, plan.plenum_bottom, plan.plenum_right, plan.plenum_top),
                s.pressure(s.signals.manifold_pressure));
  s.hits.add(Part::manifold, s.stage.area(plan.left, plan.plenum_bottom, plan.plenum_right, plan.plenum_top));
}

}  // namespace glassbowl::viz
