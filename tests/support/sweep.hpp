#pragma once
#include <algorithm>
#include <cmath>
#include <limits>

/// Properties of a function of one number, judged on a fine sweep.
namespace glassbowl::tests {

/// Largest f(x) at n + 1 even stations; NaN counts as infinite.
template <class Function>
double largest_over(double from, double to, int n, Function f) {
  double largest = -std::numeric_limits<double>::infinity();
  for (int i = 0; i <= n; ++i) {
    const double y = f(from + (to - from) * i / n);
    if (std::isnan(y)) return std::numeric_limits<double>::infinity();
    largest = std::max(largest, y);
  }
  return largest;
}

/// Never falls from left to right by more than `slack` (rounding).
template <class Function>
bool never_falls(double from, double to, int n, Function f, double slack = 0.0) {
  double before = f(from);
  for (int i = 1; i <= n; ++i) {
    const double y = f(from + (to - from) * i / n);
    if (!(y >= before - slack)) return false;
    before = y;
  }
  return true;
}
template <class Function>
bool never_rises(double from, double to, int n, Function f, double slack = 0.0) {
  return never_falls(
      from, to, n, [&](double x) { return -f(x); }, slack);
}

/// The largest step between neighbours when the sweep is made 16 times finer, over the largest of the
/// coarse sweep: about 1/16 where the slope is finite, about 1 where there is a jump.
template <class Function>
double jump_ratio(double from, double to, int n, Function f) {
  const auto largest_step = [&](int m) {
    const double h = (to - from) / m;
    return largest_over(0, m - 1, m - 1,
                        [&](double i) { return std::abs(f(from + (i + 1) * h) - f(from + i * h)); });
  };
  return largest_step(16 * n) / largest_step(n);
}

/// The same for the slope: about 1/16 where the second derivative is finite, about 1 at a kink.
template <class Function>
double kink_ratio(double from, double to, int n, Function f) {
  const auto largest_bend = [&](int m) {
    const double h = (to - from) / m;
    return largest_over(1, m - 1, m - 2, [&](double i) {
      const double x = from + i * h;
      return std::abs(f(x + h) - 2 * f(x) + f(x - h)) / h;
    });
  };
  return largest_bend(16 * n) / largest_bend(n);
}

/// Below this the two ratios mean "no jump" and "no kink": half way (in logarithm) from 1/16 to 1.
inline constexpr double smooth_ratio = 0.25;

}  // namespace glassbowl::tests
