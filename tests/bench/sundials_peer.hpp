#pragma once
#include <functional>
#include <string>
#include <vector>

#include "sim/solver/simulation.hpp"

/// General-purpose integrators (SUNDIALS) over the program's own right-hand side.
namespace glassbowl::bench {

struct Peer {
  enum class Family { adams, bdf, runge_kutta };
  std::string name;
  Family family;
  int table = 0;  ///< of the Runge-Kutta method: ARKODE_ERKTableID
};
extern const Peer adams;  ///< CVODE with fixed-point iteration
extern const Peer bdf;    ///< CVODE with a dense Newton iteration
/// ARKODE's embedded pairs of orders 3, 4 and 5.
extern const std::vector<Peer> explicit_pairs;

/// Advances `simulation` to `limit` [s] by the peer, at relative error `tolerance` a step, and absolute error
/// as much of each state's nominal size, as the program's own error-controlled method has it. Totals of the
/// ledger are integrated along, but do not steer.
///
/// Events are treated as the program's own methods treat them: landed after the step that passed them, by the
/// program itself. A step may not be longer than the crank's way from a decision to its spark, so that none
/// is missed. The right-hand side does not jump at a decision, so that no restart is needed. Speed must be
/// held. Throws std::runtime_error where the integrator gives up.
void march_by(const Peer& peer, double tolerance, sim::Simulation& simulation, double limit,
              const std::function<void(const sim::Cycle&)>& on_cycle);

}  // namespace glassbowl::bench
