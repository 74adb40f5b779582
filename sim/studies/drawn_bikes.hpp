#pragma once
#include <memory>
#include <vector>

#include "sim/bike/uncertain_value.hpp"
#include "sim/points/steady_point.hpp"
#include "sim/studies/latin_hypercube.hpp"

namespace glassbowl::sim {

inline constexpr int most_bikes = 512;  ///< of one study
inline constexpr int fewest_bikes = 8;  ///< from which a range can be told
inline constexpr int usual_bikes = 64;  ///< enough for two decimals of a range, and to rank what matters

/// Bikes as the one described may really be: every uncertain value drawn from its spread, by a Latin
/// hypercube with a fixed seed. A draw that is no legal case (a needle wider than its jet) is left out.
class DrawnBikes {
 public:
  DrawnBikes(const ResolvedCase& resolved, int count, std::uint64_t seed = 1);

  const std::vector<UncertainValue>& values() const { return values_; }
  const Scores& scores() const { return scores_; }  ///< [bike][value]
  std::size_t size() const { return bikes_.size(); }
  int refused() const { return refused_; }  ///< draws left out
  const std::shared_ptr<const SharedCase>& bike(std::size_t i) const { return bikes_[i]; }

  /// Points of each bike at each place, one bike after the other.
  std::vector<PointTask> tasks(const std::vector<Place>& places, const PointAccuracy& accuracy) const;

 private:
  std::vector<UncertainValue> values_;
  Scores scores_;
  std::vector<std::shared_ptr<const SharedCase>> bikes_;
  int refused_ = 0;
};

}  // namespace glassbowl::sim
