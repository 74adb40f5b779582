#pragma once
#include <limits>
#include <optional>
#include <string>
#include <utility>
#include <vector>

#include "sim/api/no_fuel.hpp"
#include "sim/run/blip_lag.hpp"
#include "sim/run/budget.hpp"
#include "sim/run/stall.hpp"

namespace glassbowl::sim {

/// Mean and extremes of a quantity; NaN where there was nothing to average.
struct MeanAndRange {
  double mean = std::numeric_limits<double>::quiet_NaN();
  double lowest = std::numeric_limits<double>::quiet_NaN();
  double highest = std::numeric_limits<double>::quiet_NaN();
};

/// What one fuel outlet delivered.
struct CircuitShare {
  std::string name;    ///< "idle", "port_1", "main", "pump", "enrichment"
  double flow = 0.0;   ///< [kg/s] mean
  double share = 0.0;  ///< [-] of all fuel; NaN when there was none
};

/// How a run ended.
enum class Ending { complete, stalled, interrupted };

/// One run in figures, SI. All but the budgets count from time 0; NaN means not known or not applicable.
struct Summary {
  std::string name, title;
  std::vector<std::string> warnings;
  std::string provenance;  ///< how many values are the case's own, borrowed and defaults, in words
  Ending ending = Ending::complete;
  std::string status;      ///< as the trace says it
  double settle = 0.0;     ///< [s] simulated before time 0
  double simulated = 0.0;  ///< [s] from time 0
  double wall = 0.0;       ///< [s] that it took, yardstick and trace included
  long cycles = 0, evaluations = 0;

  double air_flow = 0.0, fuel_flow = 0.0;  ///< [kg/s] out of the carburetor
  double carburetor_lambda = 0.0;          ///< [-] all air over all fuel
  std::vector<CircuitShare> circuits;
  MeanAndRange lambda;                  ///< [-] trapped, all cylinders and cycles; mean by fuel per air
  std::vector<MeanAndRange> cylinders;  ///< [-] trapped, per cylinder
  long misfires = 0;                    ///< within the cycles counted
  double lean_charges =
      0.0;                   ///< [-] share of charges beyond the lean limit for their filling, worst cylinder
  double speed = 0.0;        ///< [rad/s] mean
  MeanAndRange cycle_speed;  ///< [rad/s] of cycle means
  double torque = 0.0, power = 0.0, indicated = 0.0, friction = 0.0;  ///< [N m], [W], [N m], [N m]
  double manifold_pressure = 0.0, depression = 0.0;                   ///< [Pa] means
  std::optional<MeanAndRange> lift;                                   ///< [m] vacuum piston
  MeanAndRange bowl_level;                                            ///< [m]
  double feed = 0.0;                                                  ///< [kg] from tank to bowl
  double stood_off = 0.0, overflowed = 0.0;                           ///< [kg] lost
  std::optional<BlipLag> blip;
  std::optional<Stall> stall;  ///< where the engine stalled
  Budget budget;

  double realtime_factor() const { return (settle + simulated) / wall; }
};

}  // namespace glassbowl::sim
