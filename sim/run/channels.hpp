#pragma once
#include <span>
#include <vector>

#include "sim/api/channel.hpp"
#include "sim/solver/simulation.hpp"

/// What a trace of a bike holds, and how each value is taken from a running simulation.
namespace glassbowl::sim {

struct ChannelList {
  std::vector<Channel> time;   ///< crank-resolved
  std::vector<Channel> cycle;  ///< one value per engine cycle
};

/// Every channel of this bike: first all states (ledger totals, energies and slow inventories as float64,
/// so that an outside program can close the budgets), then what follows from them.
ChannelList all_channels(const Bike<double>& bike);

/// Values that no part holds ready.
struct DerivedValues {
  double lambda = 0.0, air = 0.0, fuel = 0.0;
  double fuel_held = 0.0, air_held = 0.0;
  std::vector<double> trapped_lambda;
};

/// Reads the crank-resolved values of one simulation, in the order of `all_channels`. Allocates only when
/// it is made. Keeps a reference: the simulation must outlive it and stay where it is.
class ChannelReader {
 public:
  explicit ChannelReader(Simulation& simulation);

  std::size_t count() const { return states_.size() + sources_.size(); }

  /// Values at the simulation's present time. `Simulation::outputs` must have been called since its last
  /// step.
  std::span<const double> read_current();

 private:
  Simulation& simulation_;
  std::vector<std::size_t> states_;
  DerivedValues derived_;
  std::vector<const double*> sources_;
  std::vector<double> values_;
};

/// Values of one cycle in the order of `all_channels`, written into `values`.
void fill_cycle_row(const Cycle& cycle, std::span<double> values);

}  // namespace glassbowl::sim
