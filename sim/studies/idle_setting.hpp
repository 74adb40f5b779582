#pragma once
#include <atomic>
#include <functional>
#include <string>

#include "sim/bike/resolved_case.hpp"
#include "sim/points/point_scheduler.hpp"

/// Finds what a mechanic sets by ear: the idle stop for an idle speed, and the mixture screw for best idle.
namespace glassbowl::sim {

/// Reads the same case with these values found for its targets.
using TargetReader = std::function<ResolvedCase(const FoundValues& found)>;

/// The case with its targets found; one without open targets as it is read.
///
///   idle stop   brake torque at the held idle speed, throttle on its stop, is zero
///   screw       of the turns between 0.5 and 6 those with the highest brake torque at that stop, which is
///               the highest speed: a parabola through the three best
///
/// Both in turn, the stop last, from a coarse row of stops and screws: then pairs of stops about the one that
/// a straight line foretells, until they lie 0.003 deg apart, some 2 rpm. What depends on the stop by an
/// estimate, as the places of transfer ports, follows it. Every point is one of `steady_task`, so that the
/// result is the same to the bit wherever the case is read. Errors  Error{input} with what was asked and the
/// nearest that is reached; what PointScheduler throws.
ResolvedCase with_targets_found(const TargetReader& read, PointScheduler& scheduler);

/// Reads a case file, its targets found, on all cores.
ResolvedCase read_case_with_targets(const std::filesystem::path& file,
                                    const std::vector<std::string>& sets = {});

}  // namespace glassbowl::sim
