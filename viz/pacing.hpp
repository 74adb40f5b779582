#pragma once
#include <algorithm>
#include <cstddef>
#include <vector>

namespace glassbowl::viz {

/// Times of pictures, for a readout and for the benchmark.
class FrameTimes {
 public:
  void add(double seconds) {
    if (kept_.size() < most)
      kept_.push_back(seconds);
    else
      kept_[next_++ % most] = seconds;
  }
  std::size_t count() const { return kept_.size(); }
  /// Time [s] that a share of the pictures stayed below.
  double percentile(double share) const {
    if (kept_.empty()) return 0.0;
    std::vector<double> sorted = kept_;
    const auto at =
        std::min(sorted.size() - 1, static_cast<std::size_t>(share * static_cast<double>(sorted.size())));
    std::nth_element(sorted.begin(), sorted.begin() + static_cast<std::ptrdiff_t>(at), sorted.end());
    return sorted[at];
  }
  /// Share of the pictures that took at most `limit` [s].
  double share_within(double limit) const {
    const auto n = std::count_if(kept_.begin(), kept_.end(), [limit](double t) { return t <= limit; });
    return kept_.empty() ? 0.0 : static_cast<double>(n) / static_cast<double>(kept_.size());
  }

 private:
  static constexpr std::size_t most = 100000;
  std::vector<double> kept_;
  std::size_t next_ = 0;
};

}  // namespace glassbowl::viz
