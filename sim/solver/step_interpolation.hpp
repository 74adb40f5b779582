#pragma once

namespace glassbowl::sim {

/// A quantity within a step: the cubic that takes its values and rates at both ends (Hermite). Its error
/// falls with the fourth power of the step.
struct StepCubic {
  double h;        ///< [s] the step
  double x0, dx0;  ///< value and rate at its beginning
  double x1, dx1;  ///< and at its end

  /// Value at this share [-] of the step.
  double operator()(double u) const {
    const double u2 = u * u, u3 = u2 * u;
    return (2 * u3 - 3 * u2 + 1) * x0 + (u3 - 2 * u2 + u) * h * dx0 + (3 * u2 - 2 * u3) * x1 +
           (u3 - u2) * h * dx1;
  }

  /// Share of the step at which a quantity that changes nearly evenly is at `target`: three corrections with
  /// the mean slope, each of which divides the error by the slope's relative change over the step.
  double share_at(double target) const {
    const double change = x1 - x0;
    double share = (target - x0) / change;
    for (int i = 0; i < 3; ++i) share += (target - (*this)(share)) / change;
    return share;
  }
};

}  // namespace glassbowl::sim
