#pragma once
#include <cstddef>
#include <utility>
#include <vector>

namespace glassbowl::models {

/// Piecewise linear curve through points with increasing x, held constant outside. Used for the
/// rider's controls over time, spark advance over speed, needle diameter over length.
class Schedule {
 public:
  Schedule() : points_{{0.0, 0.0}} {}
  explicit Schedule(std::vector<std::pair<double, double>> points) : points_(std::move(points)) {}
  static Schedule constant(double value) {
    return Schedule(std::vector<std::pair<double, double>>{{0.0, value}});
  }

  template <class Real>
  Real operator()(Real x) const {
    if (x <= points_.front().first) return Real(points_.front().second);
    for (std::size_t i = 1; i < points_.size(); ++i) {
      if (x < points_[i].first) {
        const auto& [x0, y0] = points_[i - 1];
        const auto& [x1, y1] = points_[i];
        return y0 + (y1 - y0) * ((x - x0) / (x1 - x0));
      }
    }
    return Real(points_.back().second);
  }

  bool is_constant() const { return points_.size() == 1; }
  const std::vector<std::pair<double, double>>& points() const { return points_; }

 private:
  std::vector<std::pair<double, double>> points_;
};

}  // namespace glassbowl::models
