#pragma once

#include "sim/studies/study.hpp"

namespace glassbowl::sim {

/// Two carburetors (or any two cases) over the same speeds, openings and altitudes, and by one blip each.
StudyResult run_compare(const ResolvedCase& resolved, const StudyRequest& request, PointScheduler& scheduler);

}  // namespace glassbowl::sim
