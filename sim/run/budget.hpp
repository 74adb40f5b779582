#pragma once
#include <string>
#include <vector>

#include "sim/network/network.hpp"

/// Do fuel, air and energy add up? Residuals are relative to what moved.
namespace glassbowl::sim {

struct Budget {
  double fuel = 0.0;               ///< [-]
  double air = 0.0;                ///< [-]
  double energy = 0.0;             ///< [-] of the gas volume that closes worst
  std::string energy_volume;       ///< its name
  double fuel_missing = 0.0;       ///< [kg]
  double air_missing = 0.0;        ///< [kg]
  double lowest_margin = 0.0;      ///< [-] above its lower bound, in nominal sizes; negative: passed below
  std::string lowest_margin_name;  ///< the state that came nearest to its bound, empty if none has one
};

/// Keeps the state at the start and compares any later one with it.
///   fuel: held(t0) - held(t) = burned + exhausted + stood off + overflowed               (E1)
///   air:  held(t) - held(t0) = filtered + leaked in - exhausted - burned                 (E2)
///   each gas volume: U(t) - U(t0) = enthalpy carried in - out + heat, work, liquids, jets (E3)
/// Scales: the sum of the magnitudes of all terms, for fuel with what the outlets delivered; fuel and air at
/// least 1 mg, energy 1 mJ, and each at least a thousandth of what is held: where little moves, the
/// round-off of what stays would count as missing.
class BudgetKeeper {
 public:
  BudgetKeeper(const Network<double>& network, const std::vector<double>& state);

  /// Watches the lower bounds of the states; call it as often as wanted.
  void watch(const std::vector<double>& state);

  Budget close(const std::vector<double>& state) const;

 private:
  const Network<double>& network_;
  std::vector<double> first_;
  std::vector<std::size_t> bounded_;  // states with a physical lower bound
  double lowest_ = 0.0;
  std::size_t lowest_at_ = absent;
};

}  // namespace glassbowl::sim
