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
      : network(bike), discrete_(network.discrete_at_rest()), scratch_(network.make_scratch()) {}

  const Network<Real> network;

  /// Discrete state of one lane.
  void set_discrete(std::size_t lane, const DiscreteState<double>& discrete) {
    for (std::size_t c = 0; c < discrete.ignition.size(); ++c) {
      discrete_.ignition[c].burn_start.set(lane, discrete.ignition[c].burn_start);
      discrete_.ignition[c].burn_duration.set(lane, discrete.ignition[c].burn_duration);
      discrete_.ignition[c].unburnable.set(lane, discrete.ignition[c].unburnable);
      discrete_.ignition[c].ignited.set(lane, discrete.ignition[c].ignited);
    }
  }

  /// State i as the rates take it.
  Real narrowed(std::size_t i, State x) const {
    if constexpr (narrows) {
      if (i == angle_) {  // of many cycles, too many for single precision
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
      network.rates(m::narrow(t), x.data(), discrete_, dx.data(), scratch_);
    else
      network.rates(t, x.data(), discrete_, dx.data(), scratch_);
  }

  /// Rates at states as they are.
  void at(const State* x, std::vector<Real>& dx, State t) {
    if constexpr (narrows) {
      narrowed_.resize(network.states().size);
      for (std::size_t i = 0; i < network.states().accumulators_begin(); ++i)
        narrowed_[i] = narrowed(i, x[i]);
      (*this)(narrowed_, dx, t);
    } else {
      network.rates(t, x, discrete_, dx.data(), scratch_);
    }
  }

 private:
  static constexpr bool narrows = !std::is_same_v<State, Real>;
  const std::size_t angle_ = network.states().crank.index(&m::CrankState<double>::angle);
  DiscreteState<Real> discrete_;
  Scratch<Real> scratch_;
  std::vector<Real> narrowed_;
};

}  // namespace glassbowl::sim
