#pragma once
#include <memory>

#include "sim/network/network.hpp"

namespace glassbowl::sim {

/// Rates of one bike, computed in single precision (`RatesIn`): for a simulation on its own, to the bit what
/// a lane does.
class SingleRates {
 public:
  virtual ~SingleRates() = default;
  virtual void operator()(double t, const double* x, const DiscreteState<double>& discrete, double* dx) = 0;
};

std::unique_ptr<SingleRates> make_single_rates(const Bike<double>& bike);

}  // namespace glassbowl::sim
