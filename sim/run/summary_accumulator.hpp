#pragma once
#include <vector>

#include "sim/run/summary.hpp"

namespace glassbowl::sim {

/// Counts and averages over the part of a run from time 0 on.
class SummaryAccumulator {
 public:
  /// `simulation` stands at time 0.
  explicit SummaryAccumulator(const Simulation& simulation);

  void row(const Outputs<double>& outputs);
  /// `misfires` so far, of the simulation.
  void cycle(const Cycle& cycle, long misfires);

  /// Fills the figures of `out` that this keeps; `simulation` stands at the end.
  void close(const Simulation& simulation, Summary& out) const;

 private:
  struct Count {
    double sum = 0.0, lowest = 0.0, highest = 0.0;
    long number = 0;
    void add(double value);
    Spread spread() const;
  };
  /// Lambda is averaged by fuel per air, 1 over the mean of 1/lambda: a charge with almost no fuel would
  /// swamp any other mean.
  struct MixtureCount : Count {
    double strength = 0.0;
    void add(double lambda);
    Spread spread() const;
  };

  State first_;
  double start_;
  long misfires_before_, misfires_;  // when the last cycle ended, as the charges are counted
  long cycles_ = 0;
  MixtureCount lambda_;
  Count speed_, level_, lift_;
  std::vector<MixtureCount> cylinders_;
  std::vector<long> lean_charges_;           // of each cylinder
  double stoichiometric_, filling_per_air_;  // [-]; [1/kg]
};

}  // namespace glassbowl::sim
