#pragma once
#include <cstddef>
#include <vector>

#include "sim/bike/bike.hpp"
#include "sim/network/carburetor_stages.hpp"
#include "sim/network/cylinder_stages.hpp"
#include "sim/network/gas_path_stages.hpp"
#include "sim/network/mixture_stages.hpp"
#include "sim/network/outputs.hpp"
#include "sim/network/state_map.hpp"

/// The assembled bike: its parts joined by their boundary values.
namespace glassbowl::sim {

template <class Real>
class Network {
 public:
  explicit Network(const Bike<Real>& bike);
  Network(const Network&) = delete;  // its stages refer to its bike
  Network& operator=(const Network&) = delete;

  const Bike<Real>& bike() const { return bike_; }
  const StateMap& states() const { return states_; }
  const m::GasData<Real>& gas_data() const { return gas_; }
  Real fuel_density() const { return carburetors_.front().fuel_density(); }
  const CylinderStages<Real>& cylinders() const { return cylinders_; }

  /// The right-hand side: rates of change of all states at time t. `scratch` is to be of this network's
  /// making. Allocates nothing.
  void rates(Real t, const Real* x, const DiscreteState<Real>& discrete, Real* dx, Scratch<Real>& scratch,
             Outputs<Real>* out = nullptr) const;
  /// The same by the instructions that the caller is compiled for. All stages become one function: calls
  /// between them would pass their values through memory.
  [[gnu::flatten]] void evaluate(Real t, const Real* x, const DiscreteState<Real>& discrete, Real* dx,
                                 Scratch<Real>& scratch, Outputs<Real>* out) const;

  /// A bike that has stood overnight: everything at ambient pressure, wells at the bowl's level.
  std::vector<Real> state_at_rest() const;
  DiscreteState<Real> discrete_at_rest() const;
  Outputs<Real> make_outputs() const;
  Scratch<Real> make_scratch() const;

  /// Fuel [kg], air [kg] and gas energy [J] held now.
  Real fuel_held(const Real* x) const;
  Real air_held(const Real* x) const;
  Real volume_energy(const Real* x, std::size_t v) const { return x[states_.gas.index(m::energy, v)]; }

 private:
  Controls<Real> controls(Real t) const;
  Real ideal_mixture(const Real* x, double lambda, const GasColumns<Real>& gas,
                     Balances<Real>& balances) const;

  Bike<Real> bike_;
  StateMap states_;
  void (*evaluation_)(const Network&, Real, const Real*, const DiscreteState<Real>&, Real*, Scratch<Real>&,
                      Outputs<Real>*) = nullptr;
  m::GasData<Real> gas_;
  GasPathStages<Real> gas_path_;
  std::vector<CarburetorStages<Real>> carburetors_;
  MixtureStages<Real> mixture_;
  CylinderStages<Real> cylinders_;
};

}  // namespace glassbowl::sim
