#pragma once
#include <algorithm>

#include "sim/bike/bike.hpp"

namespace glassbowl::sim {

/// Sound in air at 288.15 K [m/s]: ISO 2533. Crosses a cell of the intake runners this many times in a step
/// that is sure to follow it, and this many responses are sure to be followed.
/// Source  an explicit third-order method is stable up to |omega h| = sqrt(3), and the fastest wave along
/// cells of length dx has omega = 2 c/dx: 0.87 crossings, more where flows damp it. Responses: by trial.
inline constexpr double speed_of_sound = 340.0;
inline constexpr double stable_crossings = 0.85;
inline constexpr double stable_responses = 2.0;

/// Fixed step [s] that is sure to follow the gas path.
inline double stable_step(const GasPath<double>& path) {
  const double cell = path.runner_length / path.runner_cells;
  return std::min(stable_crossings * cell / speed_of_sound, stable_responses * path.response);
}

}  // namespace glassbowl::sim
