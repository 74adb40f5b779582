#pragma once
#include <deque>
#include <string>
#include <vector>

#include "sim/solver/simulation.hpp"

namespace glassbowl::sim {

/// Why an engine may have stopped, by what its last cycles show.
enum class StallCause {
  lean,    ///< misfires of a mixture with too little fuel
  rich,    ///< misfires of a mixture with too much
  unlit,   ///< misfires of a mixture that could burn: residual gas or spark
  weak,    ///< charges burned, but gave less than friction and load took
  unknown  ///< no cycle was completed
};

/// The last cycles before an engine stopped.
struct Stall {
  bool warming_up = false;     ///< before time 0
  double time = 0.0;           ///< [s] since the warm-up began, or since time 0
  long cylinder = 0;           ///< the one that misfired longest until the end, from 1
  long in_a_row = 0;           ///< its misfires in a row until the end
  std::vector<double> lambda;  ///< [-] its charges, oldest first; see `no_fuel`
  double delivered = 0.0;      ///< [kg/s] fuel out of the carburetor
  double needed = 0.0;         ///< [kg/s] that lambda 1 needs with the air drawn
  double idle = 0.0, ports = 0.0, main = 0.0, pump = 0.0, enrichment = 0.0;  ///< [kg/s] of `delivered`
  StallCause cause = StallCause::unknown;
  std::vector<std::string> advice;  ///< what to try or check, nearest first; never a smaller jet
};

/// Keeps the last cycles of a run in case that the engine stops.
class StallWatch {
 public:
  void cycle(const Cycle& cycle);
  /// `simulation` stands where the engine stopped, `settle` [s] after the warm-up began at time 0.
  Stall explain(Simulation& simulation, double settle) const;

 private:
  std::deque<Cycle> last_;
  std::vector<long> in_a_row_;  // misfires of each cylinder until now
};

}  // namespace glassbowl::sim
