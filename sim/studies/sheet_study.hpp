#pragma once

#include "sim/studies/study.hpp"

namespace glassbowl::sim {

/// A jet search, an overlap study of the advised setting, and the page that carries both to the workshop.
StudyResult run_sheet(const ResolvedCase& resolved, const StudyRequest& request, PointScheduler& scheduler);

}  // namespace glassbowl::sim
