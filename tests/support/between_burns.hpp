#pragma once
#include "models/constants.hpp"
#include "sim/solver/simulation.hpp"

namespace glassbowl::tests {

/// Goes on until every cylinder is well past its burn and before its next decision: there what the program
/// holds between events is the same as at rest, so that any method can go on from the bare state.
inline void pass_burns(sim::Simulation& simulation) {
  constexpr double pi = models::constants::pi;
  const auto& network = simulation.network();
  const auto between = [&] {
    for (std::size_t k = 0; k < network.states().cylinders; ++k) {
      const double angle =
          network.cylinders().angle(k, network.states().crank.load(simulation.state().data()).angle);
      if (angle < 0.75 * pi || angle > 3.5 * pi) return false;
    }
    return true;
  };
  while (!between()) simulation.advance(simulation.time() + 2e-4);
}

}  // namespace glassbowl::tests
