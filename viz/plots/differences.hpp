#pragma once
#include "viz/look/canvas.hpp"
#include "viz/source/signals.hpp"

namespace glassbowl::viz {

/// Numbers of two runs side by side at one time; those that differ by more than a twentieth are marked.
void draw_differences(Canvas& canvas, const Box& box, const Theme& theme, Source& first,
                      const Signals& first_signals, Source& second, const Signals& second_signals,
                      double time);

}  // namespace glassbowl::viz
