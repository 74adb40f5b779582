#pragma once
#include <algorithm>
#include <string>
#include <utility>
#include <vector>

namespace glassbowl::sim {

/// What a point of a study gives: numbers, and where they could not be computed, the reason.
struct PointResult {
  PointResult(std::vector<double> all = {}, std::string reason = {})  // NOLINT: most have no reason
      : values(std::move(all)), why_not(std::move(reason)) {
    std::replace(why_not.begin(), why_not.end(), '\n', ' ');
  }
  bool operator==(const PointResult&) const = default;

  std::vector<double> values;
  std::string why_not;  ///< one line, empty where they are what was asked for
};

}  // namespace glassbowl::sim
