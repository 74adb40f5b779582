#pragma once

namespace glassbowl::validation {

/// Root of an increasing or decreasing function between two bounds, by bisection to round-off.
template <class Function>
double find_root(Function f, double low, double high) {
  const bool rising = f(high) > f(low);
  for (int i = 0; i < 100; ++i) {
    const double middle = 0.5 * (low + high);
    ((f(middle) < 0.0) == rising ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

}  // namespace glassbowl::validation
