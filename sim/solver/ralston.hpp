#pragma once
#include <cstddef>
#include <vector>

namespace glassbowl::sim {

/// Ralston's third-order Runge-Kutta method: of the three-stage methods, the one with the smallest error
/// bound. One text for a simulation on its own and for lanes.
///   k2 = f(t + h/2, x + h/2 k1),  k3 = f(t + 3h/4, x + 3h/4 k2),  x' = x + h (2 k1 + 3 k2 + 4 k3)/9
/// Source  Ralston, Mathematics of Computation 16 (1962) 431.
template <class Real>
class Ralston {
 public:
  using Column = std::vector<Real>;

  /// `next` becomes the state one step `h` after x. `k1` holds the rates at t; `rates(x, dx, t)` finds
  /// others, and reads the first `read` states only.
  template <class Rates>
  void step(const Rates& rates, const Column& x, const Column& k1, Real t, Real h, std::size_t read,
            Column& next) {
    const std::size_t n = x.size();
    trial_.resize(n);
    k2_.resize(n);
    k3_.resize(n);
    next.resize(n);
    const Real half = 0.5 * h, most = 0.75 * h;
    for (std::size_t i = 0; i < read; ++i) trial_[i] = x[i] + half * k1[i];
    rates(trial_, k2_, t + half);
    for (std::size_t i = 0; i < read; ++i) trial_[i] = x[i] + most * k2_[i];
    rates(trial_, k3_, t + most);
    const Real a = h * (2.0 / 9.0), b = h * (1.0 / 3.0), c = h * (4.0 / 9.0);
    for (std::size_t i = 0; i < n; ++i) next[i] = x[i] + a * k1[i] + b * k2_[i] + c * k3_[i];
  }

 private:
  Column trial_, k2_, k3_;
};

}  // namespace glassbowl::sim
