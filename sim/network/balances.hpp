#pragma once
#include "models/gas/volume.hpp"
#include "sim/network/state_map.hpp"

namespace glassbowl::sim {

/// Where all that gas volumes exchange is summed up. Each flow is computed once, taken from one side and
/// given to the other, so mass and energy are conserved by construction. Write only: no stage depends on what
/// another one added.
template <class Real>
class Balances {
 public:
  Balances(const StateMap& states, const m::GasData<Real>& gas, Real* dx)
      : gas_(gas),
        sums_(dx + states.gas.index(0, 0)),
        apart_(states.gas.apart()),
        other_energy_(dx + states.other_energy.begin) {}

  /// Mass or energy as it is, such as what turns into another species.
  void add(std::size_t volume, std::size_t slot, Real rate) { sums_[slot * apart_ + volume] += rate; }
  void take(std::size_t volume, std::size_t slot, Real rate) { sums_[slot * apart_ + volume] -= rate; }

  /// Energy from beside the passages: heat and work.
  void add_energy(std::size_t volume, Real power) {
    add(volume, m::energy, power);
    other_energy_[volume] += power;
  }
  void take_energy(std::size_t volume, Real power) {
    take(volume, m::energy, power);
    other_energy_[volume] -= power;
  }
  /// Mass of one species at a temperature of its own.
  void add_species(std::size_t volume, m::Species species, Real flow, Real temperature) {
    add(volume, species, flow);
    add_energy(volume, flow * m::enthalpy(gas_, species, temperature));
  }
  /// Air between a volume and a small passage of another temperature. What is drawn is the volume's air; the
  /// little fuel and burned gas that would come along is left behind.
  void exchange_air(std::size_t volume, Real into, Real passage_temperature, Real temperature) {
    add_species(volume, m::air, into, m::select(into >= Real(0), passage_temperature, temperature));
  }
  /// Liquid fuel sprayed in as droplets.
  void deliver(std::size_t volume, Real fuel, Real temperature) {
    add_species(volume, m::droplets, fuel, temperature);
  }

 private:
  const m::GasData<Real>& gas_;
  Real* sums_;  // species and energy, as `GasStates` lays them
  std::size_t apart_;
  Real* other_energy_;
};

}  // namespace glassbowl::sim
