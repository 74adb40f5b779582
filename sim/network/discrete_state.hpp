#pragma once
#include <vector>

namespace glassbowl::sim {

/// What is fixed for one cylinder from shortly before its spark until the next one.
template <class Real>
struct Ignition {
  Real burn_start = Real(0);     ///< [rad] 0..4π, its own angle
  Real burn_duration = Real(1);  ///< [rad]
  Real unburnable = Real(1);     ///< [kg] fuel that this cycle leaves unburned
  Real ignited = Real(0);        ///< [-] share of the charge that lights
};

/// Values that change only between steps, by events.
template <class Real>
struct DiscreteState {
  std::vector<Ignition<Real>> ignition;
  double ideal_lambda = 0.0;  ///< above 0: the cylinders draw this mixture instead of the carburetor's
};

}  // namespace glassbowl::sim
