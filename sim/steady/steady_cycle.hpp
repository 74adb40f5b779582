#pragma once
#include <string>
#include <vector>

#include "sim/solver/march.hpp"
#include "sim/solver/simulation.hpp"

/// Finds the cycle that repeats itself at held speed and fixed controls.
namespace glassbowl::sim {

struct SteadyOptions {
  double tolerance =
      3e-4;  ///< [-] what air, fuel, trapped lambda, torque and the slow states still have to go, estimated
  int in_a_row = 3;          ///< cycles that must keep to it one after another, see ConvergenceMonitor
  int most_cycles = 1500;    ///< then the point is marked as not converged
  bool accelerate = true;    ///< false marches plainly
  bool longer_steps = true;  ///< to begin with; false: the case's own from the beginning
};

struct SteadyCycle {
  bool converged = false;
  int cycles = 0;       ///< marched in all
  double change = 0.0;  ///< [-] last estimate of what is left, by single cycles
  /// The last cycles, oldest first: those that show that it repeats itself, whose mean is what was found, or
  /// those marched plainly in the end, at most as many as show that it goes round.
  std::vector<Cycle> last;
  std::string why_not;  ///< plain words, empty when converged
};

/// Marches `simulation` cycle by cycle from its present state, and takes its slow states ahead: they alone
/// would need hundreds of cycles.
///  - What follows its inflow with a known time constant is taken to where it is heading,
///      x + r/(1 - e^(-T/τ))  with r the change within a cycle:
///    films, bowl and the airbox's gas after each cycle, the silencer's gas after some.
///  - Every fifth cycle, until hardly any way is left, Anderson's method extrapolates the map x -> G(x) so
///  found, over all slow states:
///      x_new = G_k - Σ γ_j (G_{j+1} - G_j),
///      γ minimising |g_k - Σ γ_j (g_{j+1} - g_j)|² + μ²|γ|²,  g = G - x
///    The plain cycles between let the quick states follow.
/// Whether it has come to its end is judged by `ConvergenceMonitor`.
///
/// Until it is near its end, steps are up to twice as long as the case's, as far as these are sure to be
/// followed, with rates in single precision; what is found is a cycle of the case's own steps.
///
/// A search that has not come to its end 90 cycles after the last longer step goes on plainly, and ends where
/// it is seen to go round: what misfires or hunts has no cycle that repeats itself. The tank is held at its
/// filling.
///
/// Errors  throws Error (input) unless the speed is held and all schedules are constant; solver errors pass.
///
/// Source  Anderson, J. ACM 12 (1965) 547; Walker & Ni, SIAM J. Numer. Anal. 49 (2011) 1715, eq. 2.2;
///         every few steps: Pratapa, Suryanarayana & Pask, J. Comput. Phys. 306 (2016) 43.
March march_to_steady_cycle(Simulation& simulation, SteadyOptions options, SteadyCycle& out);

/// The same, advancing the simulation itself.
SteadyCycle find_steady_cycle(Simulation& simulation, const SteadyOptions& options = {});

}  // namespace glassbowl::sim
