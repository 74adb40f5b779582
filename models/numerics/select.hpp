#pragma once
#include <algorithm>
#include <cmath>

/// Branch-free choices and smooth steps, the only conditionals that parts use on state values.
/// A lane type overloads `select`, `min`, `max` beside itself.
namespace glassbowl::models {

template <class Real>
constexpr Real select(bool condition, Real a, Real b) {
  return condition ? a : b;
}
constexpr double min(double a, double b) {
  return a < b ? a : b;
}
constexpr double max(double a, double b) {
  return a > b ? a : b;
}

/// Whether no value asks for what is conditional, so that its arithmetic may be left out.
constexpr bool none(bool condition) {
  return !condition;
}

template <class Real>
constexpr Real clamp(Real x, Real low, Real high) {
  return min(max(x, low), high);
}

/// max(x, 0).
template <class Real>
constexpr Real positive_part(Real x) {
  return max(x, Real(0.0));
}

/// max(x, 0) rounded off over `width`, so that a one-way flow starts without a kink.
/// Exact to width²/(4x) away from zero.
template <class Real>
Real smooth_positive_part(Real x, Real width) {
  using std::sqrt;
  return Real(0.5) * (x + sqrt(x * x + width * width));
}

/// 0 below 0, 1 above 1, 3s² - 2s³ between: continuous first derivative.
template <class Real>
constexpr Real smooth_step(Real s) {
  const Real c = clamp(s, Real(0.0), Real(1.0));
  return c * c * (Real(3.0) - Real(2.0) * c);
}

template <class Real>
Real absolute(Real x) {
  using std::abs;
  return abs(x);
}

}  // namespace glassbowl::models
