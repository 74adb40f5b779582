#include "viz/cutaway/stage.hpp"

#include <algorithm>

namespace glassbowl::viz {

Stage fit_stage(const Box& box, double left, double bottom, double right, double top) {
  Stage stage;
  stage.box = box;
  stage.pixels_per_m =
      std::min(static_cast<double>(box.w) / (right - left), static_cast<double>(box.h) / (top - bottom));
  stage.origin = {box.x + 0.5F * box.w - static_cast<float>(0.5 * (left + right) * stage.pixels_per_m),
                  box.y + 0.5F * box.h + static_cast<float>(0.5 * (bottom + top) * stage.pixels_per_m)};
  return stage;
}

Stage zoomed(const Stage& stage, double factor, Point about) {
  Stage out = stage;
  out.pixels_per_m *= factor;
  const auto f = static_cast<float>(factor);
  out.origin = about + (stage.origin - about) * f;
  return out;
}

}  // namespace glassbowl::viz
