#pragma once
#include <cstddef>
#include <type_traits>
#include <utility>
#include <vector>

#include "models/numerics/select.hpp"

namespace glassbowl::models {

/// Piecewise linear curve through points with increasing x, held constant outside. Used for the
/// rider's controls over time, spark advance over speed, needle diameter over length.
template <class Real = double>
class Schedule {
 public:
  using Points = std::vector<std::pair<Real, Real>>;

  Schedule() : points_{{Real(0), Real(0)}} {}
  explicit Schedule(Points points) : points_(std::move(points)) {}
  static Schedule constant(Real value) { return Schedule(Points{{Real(0), value}}); }

  Real operator()(Real x) const {
    if constexpr (std::is_floating_point_v<Real>) {  // the same, looking only where x lies
      if (x <= points_.front().first) return points_.front().second;
      for (std::size_t i = 1; i < points_.size(); ++i)
        if (x < points_[i].first) return between(i, x);
      return points_.back().second;
    }
    Real y = points_.back().second;
    for (std::size_t i = points_.size() - 1; i > 0; --i) y = select(x < points_[i].first, between(i, x), y);
    return select(x <= points_.front().first, points_.front().second, y);
  }

  bool is_constant() const { return points_.size() == 1; }
  const Points& points() const { return points_; }

 private:
  Real between(std::size_t i, Real x) const {
    const auto& [x0, y0] = points_[i - 1];
    const auto& [x1, y1] = points_[i];
    return y0 + (y1 - y0) * ((x - x0) / (x1 - x0));
  }

  Points points_;
};

}  // namespace glassbowl::models
