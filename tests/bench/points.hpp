#pragma once
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "sim/cases/resolved_case.hpp"
#include "sim/lanes/lane_group.hpp"
#include "sim/solver/cycle.hpp"

/// The operating points that methods are compared at: full model, every circuit on, a bike for each kind of
/// carburetor.
namespace glassbowl::bench {

inline constexpr const char* runs[] = {"slow_sweep", "slow_sweep_piston"};  ///< one carburetor of each kind
inline constexpr double marched = 0.41;  ///< [s] from rest; no whole number of anyone's cycles

/// A run's bike, held at this throttle opening [%] and speed [1/min].
sim::ResolvedCase held(const char* run, double opening, double speed,
                       const std::vector<std::string>& more = {});

/// Sixteen points of each bike.
using Points = std::vector<std::vector<sim::ResolvedCase>>;
Points points(const std::vector<std::string>& more = {});

/// Marches all points from rest, one after another; `on_cycle` hears of every cycle and whose it was.
using Listener = std::function<void(std::size_t point, const sim::Cycle&)>;
void alone(const Points& points, const Listener& on_cycle = {});

/// The same by lanes of such groups, refilled as they fall empty.
using MakeGroup = std::function<std::unique_ptr<sim::LaneGroup>()>;
void side_by_side(const Points& points, const MakeGroup& make);

}  // namespace glassbowl::bench
