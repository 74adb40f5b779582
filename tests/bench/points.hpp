#pragma once
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "sim/bike/resolved_case.hpp"
#include "sim/lockstep/lane_group.hpp"
#include "sim/solver/simulation.hpp"

/// The operating points that methods are compared at: full model, every circuit on, a bike for each kind of
/// carburetor.
namespace glassbowl::bench {

inline constexpr const char* runs[] = {"slow_sweep", "slow_sweep_piston"};  ///< one carburetor of each kind
inline constexpr std::size_t points_a_bike = 16;
inline constexpr double marched = 0.25;  ///< [s] by each method; no whole number of anyone's cycles

/// A run's bike, held at this throttle opening [%] and speed [1/min].
sim::ResolvedCase held(const char* run, double opening, double speed,
                       const std::vector<std::string>& more = {});

/// One operating point, settled for some seconds and then stopped where no charge burns (`pass_burns`).
struct Point {
  sim::Bike<double> bike;
  sim::StepOptions step;  ///< of the case
  sim::State state;
  double time;  ///< [s]
  sim::Simulation start(const sim::StepOptions& options) const;
};

/// Of all bikes, one bike after the other.
const std::vector<Point>& points();

/// A fixed step or the error-controlled method alone, from one point on.
void alone(const Point& point, const sim::StepOptions& options,
           const std::function<void(const sim::Cycle&)>& on_cycle = {});
void all_alone();  ///< every point by the fixed step of its case

/// All points by lanes of such a group, with rates of its precision; it is refilled as they fall empty.
using MakeGroup = std::function<std::unique_ptr<sim::LaneGroup>()>;
void all_side_by_side(const MakeGroup& make);
/// A point's fixed step with rates in single precision.
sim::StepOptions single(const Point& point);

/// Simulations with the same parts by lanes, each over `span` [s] more.
void advance_together(const std::vector<std::unique_ptr<sim::Simulation>>& all, double span,
                      const MakeGroup& make);

}  // namespace glassbowl::bench
