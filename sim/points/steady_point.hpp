#pragma once

#include <limits>
#include <memory>
#include <optional>
#include <span>
#include <string>
#include <vector>

#include "sim/points/point_scheduler.hpp"
#include "sim/points/shared_case.hpp"
#include "sim/steady/steady_cycle.hpp"

namespace glassbowl::sim {

/// Where a steady point stands.
struct Place {
  double speed = 0.0;     ///< [rad/s]
  double opening = 0.0;   ///< [-] throttle, 0 on the stop .. 1 wide open
  double altitude = 0.0;  ///< [m]
  double warmer = 0.0;    ///< [K] air above the standard day of that altitude
};

enum class PointState { converged = 0, not_converged = 1, failed = 2 };

/// Means of a repeating cycle at held speed, SI; NaN where the computation failed.
struct SteadyFigures {
  static constexpr double unknown = std::numeric_limits<double>::quiet_NaN();
  double state = 2.0;                                              ///< PointState
  double cycles = 0.0;                                             ///< marched
  double lambda = unknown;                                         ///< [-] at the carburetor
  double trapped = unknown, leanest = unknown, richest = unknown;  ///< [-] mean and single cylinders
  double misfires = unknown;                                       ///< [-] share of charges
  double air = unknown, fuel = unknown;                            ///< [kg/s]
  double idle = unknown, ports = unknown, main = unknown;          ///< [kg/s] by outlet
  double pump = unknown, enrichment = unknown;                     ///< [kg/s]
  double torque = unknown, indicated = unknown, power = unknown;   ///< [N m], [N m], [W]
  double manifold = unknown;                                       ///< [Pa]
  double filling = unknown;  ///< [-] air per cycle over displacement full of standard air at sea level
  double swing = unknown;    ///< [-] see `swing_of`
  double depression = unknown, lift = unknown, opening = unknown;  ///< [Pa], [m], [-]
  double jump = unknown;  ///< 1 where lambda jumps to a neighbour in its map; unknown where nobody looked
  double other = unknown, other_leanest = unknown;  ///< [-] lambda of a second cycle that repeats here
  double other_torque = unknown;                    ///< [N m]
  bool usable() const { return state < 2.0; }
  bool converged() const { return state < 1.0; }
  double slow_share() const { return (idle + ports) / fuel; }
  double main_share() const { return main / fuel; }
};

struct SteadyColumn {
  const char* name;
  const char* unit;
  const char* long_name;
  double SteadyFigures::*value;
};
/// All figures, in the order in which journals and files keep them.
extern const std::span<const SteadyColumn> steady_columns;

/// Share of its speed that a crank loses between two firings when the load takes out what each has put in:
///   ΔE = C I ω²,  ΔE = η H m / s    (one cylinder's air m, stoichiometric ratio s, fuel's lower heating
///   value H, efficiency η = 1/3)
/// By air alone, so that a charge that misses does not make the place look easy.
/// Source  flywheel equation: Shigley, Mechanical Engineering Design, sec. 16-7, from memory.
double swing_of(const Bike<double>& bike, double air_flow, double speed);

std::vector<double> to_values(const SteadyFigures& figures);
SteadyFigures to_figures(const std::vector<double>& values);

/// How exactly points are computed; part of what a point depends on. The tolerance is of what is left to go:
/// half of what studies are asked for, 0.1 %.
struct PointAccuracy {
  double tolerance = 5e-4;  ///< see SteadyOptions
  int in_a_row = 3;         ///< see SteadyOptions
  int most_cycles = 300;    ///< see SteadyOptions
};

/// Overrides that put a case onto a held speed at this place: load, throttle, altitude and temperature of the
/// air. All other keys of the case count. The starter stays off: it cannot turn a crank whose speed is held.
Sets sets_at(const Place& place);

/// What a control of the case is held at: its value if it never changes; nothing if it does.
std::optional<double> held_value(const m::Schedule<>& schedule);

/// A steady point of a case at `place`. A point that does not settle (misfire) gives means over its last
/// cycles and says so. One that the solver gives up, by the longer steps of a search and by the case's own,
/// or whose `base` is no legal case, is `failed`, with the reason.
PointTask steady_task(std::shared_ptr<const SharedCase> base, const Place& place,
                      const PointAccuracy& accuracy = {});

/// The same at `to`, started from the cycle that repeats at `from` in place of from rest: where two cycles
/// repeat, the one on its side.
PointTask steady_task_from(std::shared_ptr<const SharedCase> base, const Place& from, const Place& to,
                           const PointAccuracy& accuracy = {});

/// The same engine with the opening sought at which it gives `torque` [N m], to 0.3 % of it; `failed` where
/// even full throttle does not reach it, or none gives it that nearly. Takes up to thirteen points.
PointTask steady_task_at_torque(std::shared_ptr<const SharedCase> base, Place place, double torque,
                                const PointAccuracy& accuracy = {});

std::vector<SteadyFigures> run_steady(PointScheduler& scheduler, const std::vector<PointTask>& tasks);

}  // namespace glassbowl::sim
