#pragma once
#include <cstddef>
#include <vector>

#include "models/numerics/single.hpp"

namespace glassbowl::sim {

namespace m = glassbowl::models;

/// Ralston's third-order Runge-Kutta method: of the three-stage methods, the one with the smallest error
/// bound. One text for a simulation on its own and for lanes, and for rates of less precision than the
/// states.
///   k2 = f(t + h/2, x + h/2 k1),  k3 = f(t + 3h/4, x + 3h/4 k2),  x' = x + h (2 k1 + 3 k2 + 4 k3)/9
/// Source  Ralston, Mathematics of Computation 16 (1962) 431.
template <class Real, class Rate = Real>
class Ralston {
 public:
  /// `next` becomes the state one step `h` after x. `k1` holds the rates at t; `rates(x, dx, t)` finds
  /// others, and reads the first `read` states only, each as `rates.narrowed(i, state)`.
  template <class Rates>
  void step(Rates&& rates, const std::vector<Real>& x, const std::vector<Rate>& k1, Real t, Real h,
            std::size_t read, std::vector<Real>& next) {
    const std::size_t n = x.size();
    trial_.resize(n);
    k2_.resize(n);
    k3_.resize(n);
    next.resize(n);
    const Real half = 0.5 * h, most = 0.75 * h;
    for (std::size_t i = 0; i < read; ++i) trial_[i] = rates.narrowed(i, x[i] + half * m::widen(k1[i]));
    rates(trial_, k2_, t + half);
    for (std::size_t i = 0; i < read; ++i) trial_[i] = rates.narrowed(i, x[i] + most * m::widen(k2_[i]));
    rates(trial_, k3_, t + most);
    const Real a = h * (2.0 / 9.0), b = h * (1.0 / 3.0), c = h * (4.0 / 9.0);
    for (std::size_t i = 0; i < n; ++i)
      next[i] = x[i] + a * m::widen(k1[i]) + b * m::widen(k2_[i]) + c * m::widen(k3_[i]);
  }

 private:
  std::vector<Rate> trial_, k2_, k3_;
};

}  // namespace glassbowl::sim
