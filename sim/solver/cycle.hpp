#pragma once
#include <array>
#include <vector>

#include "sim/api/mixture_limits.hpp"
#include "sim/network/state_map.hpp"

namespace glassbowl::sim {

/// What one cylinder trapped, and what became of it.
struct Trapped {
  double lambda = 0.0;    ///< [-] air over fuel and stoichiometric ratio, liquid fuel included
  double residual = 0.0;  ///< [-] burned-gas mass fraction
  double ignited = 0.0;   ///< [-] share that lit, see `misfired`
  double mass = 0.0;      ///< [kg]
};

/// Means over one engine cycle (two crank turns from firing top dead centre of cylinder 1).
struct Cycle {
  long number = 0;
  double start = 0.0, duration = 0.0;                                  ///< [s]
  double speed = 0.0;                                                  ///< [rad/s]
  double air_flow = 0.0, fuel_flow = 0.0;                              ///< [kg/s] out of the carburetor
  double lambda = 0.0;                                                 ///< [-] at the carburetor
  double idle = 0.0, main = 0.0, pump = 0.0, enrichment = 0.0;         ///< [kg/s] fuel by outlet
  std::vector<double> ports;                                           ///< [kg/s]
  double indicated_torque = 0.0, friction_torque = 0.0, torque = 0.0;  ///< [N m]
  double manifold_pressure = 0.0, depression = 0.0;                    ///< [Pa]
  bool has_piston = false;
  double lift = 0.0;               ///< [m] of the vacuum piston, if there is one
  std::vector<Trapped> cylinders;  ///< the charge that each trapped last
  double lambda_trapped() const {
    double sum = 0.0;
    for (const auto& c : cylinders) sum += c.lambda;
    return sum / static_cast<double>(cylinders.size());
  }
};

/// Means from the accumulators at the cycle's two ends; number and charges are not touched. Allocates only
/// the first time.
void find_cycle_between(const StateMap& states, double stoichiometric, const std::vector<double>& first,
                        double t_first, const std::vector<double>& last, double t_last, Cycle& out);

}  // namespace glassbowl::sim
