#pragma once
#include <cstddef>
#include <type_traits>
#include <vector>

#include "models/constants.hpp"
#include "models/numerics/single.hpp"
#include "sim/network/network.hpp"

namespace glassbowl::sim {

/// Rates of a bike whose states are `State`, a double or lanes of them, computed in `Real`: the same, or
/// single precision. States stay in double precision, so that no small change is lost on a large store; a
/// single rate is 1e-7 to 1e-4 off (the more, the more nearly big numbers cancel), and twice as many go into
/// a register. Budgets close to that only, so it is for ways to a state, not for what is told of it. Its
/// rider's hand, speed and height must stay, as time in single precision is coarse.
template <class State, class Real>
class RatesIn {
 public:
  explicit RatesIn(const Bike<Real>& bike)
      : network(bike), held_(network.held_at_rest()), snapshot_(network.make_snapshot()) {}

  const Network<Real> network;

  /// What is held of one lane between events.
  void hold(std::size_t lane, const Held<double>& held) {
    for (std::size_t c = 0; c < held.ignition.size(); ++c) {
      held_.ignition[c].burn_start.set(lane, held.ignition[c].burn_start);
      held_.ignition[c].burn_duration.set(lane, held.ignition[c].burn_duration);
      held_.ignition[c].unburnable.set(lane, held.ignition[c].unburnable);
      held_.ignition[c].ignited.set(lane, held.ignition[c].ignited);
    }
  }

  /// State i as the rates take it.
  Real narrowed(std::size_t i, State x) const {
    if constexpr (narrows) {
      if (i == network.layout().crank_angle) {  // of many cycles, too many for single precision
        constexpr double cycle = 4.0 * m::constants::pi;
        x = x - cycle * m::whole_below(x * (1.0 / cycle));
      }
      return m::narrow(x);
    } else {
      return x;
    }
  }

  /// Rates at states that are narrowed already.
  void operator()(const std::vector<Real>& x, std::vector<Real>& dx, State t) {
    if constexpr (narrows)
      network.rates(m::narrow(t), x.data(), held_, dx.data(), snapshot_);
    else
      network.rates(t, x.data(), held_, dx.data(), snapshot_);
  }

  /// Rates at states as they are.
  void at(const State* x, std::vector<Real>& dx, State t) {
    if constexpr (narrows) {
      narrowed_.resize(network.layout().size);
      for (std::size_t i = 0; i < network.layout().ledger_begin; ++i) narrowed_[i] = narrowed(i, x[i]);
      (*this)(narrowed_, dx, t);
    } else {
      network.rates(t, x, held_, dx.data(), snapshot_);
    }
  }

 private:
  static constexpr bool narrows = !std::is_same_v<State, Real>;
  Held<Real> held_;
  Snapshot<Real> snapshot_;
  std::vector<Real> narrowed_;
};

}  // namespace glassbowl::sim
