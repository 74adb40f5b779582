#pragma once
#include "viz/look/canvas.hpp"
#include "viz/source/source.hpp"

namespace glassbowl::viz {

/// Numbers of two runs side by side at one time, means of the engine cycle where there are such; those that
/// differ by more than a twentieth are marked.
void draw_differences(Canvas& canvas, const Box& box, const Theme& theme, Source& first, Source& second,
                      double time);

}  // namespace glassbowl::viz
