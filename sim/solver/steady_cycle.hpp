#pragma once
#include <string>

#include "sim/solver/march.hpp"
#include "sim/solver/simulation.hpp"

/// Finds the cycle that repeats itself at held speed and fixed controls.
namespace glassbowl::sim {

struct SteadyOptions {
  double tolerance =
      1e-4;                ///< [-] cycle-to-cycle change of mean air, fuel, trapped lambda and torque, and of
                           ///<     all states in their own measure, below which a cycle counts as repeated
  int in_a_row = 4;        ///< cycles that must do so one after another
  int most_cycles = 1500;  ///< then the point is marked as not converged
  int memory = 6;          ///< earlier cycles that the acceleration learns from; 0 marches plainly
};

struct SteadyCycle {
  bool converged = false;
  int cycles = 0;       ///< marched in all
  double change = 0.0;  ///< [-] last cycle-to-cycle change in the measure above
  Cycle cycle;          ///< the last one
  std::string why_not;  ///< plain words, empty when converged
};

/// Marches `simulation` cycle by cycle from its present state. Slow states (films, levels, wells, piston)
/// would take hundreds of cycles to settle; Anderson's method extrapolates the cycle-to-cycle map
/// x -> F(x) from the last `memory` cycles:
///   x_new = F_k - Σ γ_j (F_{j+1} - F_j),  γ minimising |r_k - Σ γ_j (r_{j+1} - r_j)|, r = F - x
/// Guarded: an extrapolated state below a physical bound is not used, and a growing residual clears the
/// memory and goes on plainly. Convergence is judged on plain cycles only. The tank is held at its filling.
/// Errors  throws Error (input) unless the speed is held and all schedules are constant; solver errors pass.
/// Source  Anderson, J. ACM 12 (1965) 547; Walker & Ni, SIAM J. Numer. Anal. 49 (2011) 1715, eq. 2.2.
March march_to_steady_cycle(Simulation& simulation, SteadyOptions options, SteadyCycle& out);

/// The same, advancing the simulation itself.
SteadyCycle find_steady_cycle(Simulation& simulation, const SteadyOptions& options = {});

}  // namespace glassbowl::sim
