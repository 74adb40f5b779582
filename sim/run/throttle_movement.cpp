#include "sim/run/throttle_movement.hpp"

#include <algorithm>

namespace glassbowl::sim {
namespace {

constexpr double least_rise = 0.05;  // [-]
constexpr double sudden = 0.5;       // [s]
constexpr double longest = 10.0;     // [s]

double fall_after(const models::Schedule<>& throttle, double start, double limit) {
  const auto& points = throttle.points();
  double highest = throttle(start);
  for (std::size_t i = 1; i < points.size(); ++i) {
    const auto& [x0, y0] = points[i - 1];
    const auto& [x1, y1] = points[i];
    if (x1 <= start) continue;
    highest = std::max(highest, y0);
    if (y1 < highest - least_rise) {
      // Where this stretch passes the mark; a slow fall begins to count there, a quick one at once.
      const double mark = x0 + (x1 - x0) * (y0 - (highest - least_rise)) / (y0 - y1);
      return std::min(limit, std::max(x0, mark));
    }
  }
  return limit;
}

}  // namespace

std::optional<ThrottleMovement> find_throttle_movement(const models::Schedule<>& throttle, double duration) {
  const auto& points = throttle.points();
  for (std::size_t i = 1; i < points.size(); ++i) {
    if (points[i].second <= points[i - 1].second) continue;
    const double start = std::max(points[i - 1].first, 0.0);
    if (start >= duration) break;
    if (points[i].first <= start) continue;
    if (throttle(std::min(start + sudden, duration)) - throttle(start) <= least_rise) continue;
    return ThrottleMovement{start, fall_after(throttle, start, std::min(duration, start + longest))};
  }
  return std::nullopt;
}

}  // namespace glassbowl::sim
