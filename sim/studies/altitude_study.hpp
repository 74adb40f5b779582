#pragma once

#include "sim/studies/study.hpp"

namespace glassbowl::sim {

/// The same jets over altitude, at equal throttle and at equal power, beside the square-root law
///   lambda(h) / lambda(0) = sqrt(rho(h) / rho(0))   (equal volume flow; jets turbulent)
/// and what it takes to bring the mixture back, run and then taken down again.
StudyResult run_altitude(const ResolvedCase& resolved, const StudyRequest& request,
                         PointScheduler& scheduler);

}  // namespace glassbowl::sim
