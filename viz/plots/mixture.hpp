#pragma once
#include <string>
#include <vector>

#include "sim/api/mixture_limits.hpp"
#include "viz/source/source.hpp"

namespace glassbowl::viz {

/// One engine cycle's mixture in the cylinders.
struct MixtureCycle {
  struct Cylinder {
    double lambda = 0.0;   ///< [-] of the charge, liquid fuel included
    double filling = 0.0;  ///< [-] air over a displacement of standard air at sea level
    bool fired = true;
  };
  double start = 0.0, duration = 0.0;  ///< [s]
  double limit = 0.0;                  ///< [-] leanest lambda that its fullest cylinder may have
  std::vector<Cylinder> cylinders;
};

/// What the cylinders of a run were filled with, cycle by cycle.
class Mixture {
 public:
  explicit Mixture(Source& source);

  std::vector<MixtureCycle> between(double from, double to) const;
  /// What threatens the engine in the cycle at `time`: cylinders under load that are beyond their lean limit
  /// or do not fire. Empty if nothing does.
  std::string alarm(double time) const;

 private:
  MixtureCycle cycle(std::size_t number) const;

  Source& source_;
  int start_, duration_;
  struct Channels {
    int lambda, residual, ignited, mass;
  };
  std::vector<Channels> cylinders_;
};

/// A lambda with two decimals; "no fuel" as in all outputs (sim/api/no_fuel.hpp).
std::string lambda_text(double lambda);

}  // namespace glassbowl::viz
