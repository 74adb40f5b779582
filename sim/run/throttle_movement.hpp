#pragma once
#include <optional>

#include "models/numerics/schedule.hpp"

namespace glassbowl::sim {

/// A sudden opening of the throttle.
struct ThrottleMovement {
  double start = 0.0;  ///< [s] the hand begins to move
  double end = 0.0;    ///< [s] the throttle falls again, or the run ends
};

/// The first time in [0, duration] at which the throttle rises by more than 5 percentage points within
/// half a second. It counts as open until it has fallen by 5 points again, at most for 10 s.
std::optional<ThrottleMovement> find_throttle_movement(const models::Schedule<>& throttle, double duration);

}  // namespace glassbowl::sim
