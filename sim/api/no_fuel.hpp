#pragma once

namespace glassbowl::sim {

/// [-] Lambda above which every output, verdict, chart and the viewer says "no fuel": misfire limits lie far
/// below, and the figure itself says nothing more. The viewer's page has the same number in its script.
inline constexpr double no_fuel_lambda = 5.0;

inline bool no_fuel(double lambda) {
  return lambda > no_fuel_lambda;
}

}  // namespace glassbowl::sim
