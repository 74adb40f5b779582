#pragma once

namespace glassbowl::sim {

/// How a case asks to be integrated.
enum class Method { fixed_step, error_controlled };

struct StepOptions {
  Method method = Method::fixed_step;
  double step = 50e-6;      ///< [s] fixed step, and the first trial of the other
  double tolerance = 1e-6;  ///< [-] error per step over |x| + nominal, error-controlled
  double smallest = 1e-10;  ///< [s] below this the run is given up
  /// [s] of progress over 10,000 steps below which it is given up as well: it would take for ever.
  double least_progress = 1e-3;
  bool single_rates =
      false;  ///< rates in single precision (`RatesIn`), for ways to a state; fixed steps only
};

}  // namespace glassbowl::sim
