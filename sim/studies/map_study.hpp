#pragma once

#include "sim/studies/study.hpp"

namespace glassbowl::sim {

/// Lambda, circuit shares, torque, air and fuel over speed and throttle, and over altitudes and warmth.
StudyResult run_map(const ResolvedCase& resolved, const StudyRequest& request, PointScheduler& scheduler);

}  // namespace glassbowl::sim
