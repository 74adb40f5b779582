#include "sim/steady/convergence_monitor.hpp"

#include <algorithm>
#include <cmath>

namespace glassbowl::sim {
namespace {

using Eigen::VectorXd;

// Found by trial on the default maps of the shipped bikes, against plain marches.
constexpr double slowest = 0.98;        // [-] by which a step is believed to shrink, at least, in a cycle
constexpr double slowest_round = 0.95;  // ... and in a round
constexpr int rounds_in_a_row = 3;      // evaluations of the second sign, a cycle apart
constexpr double most_swing = 6.0;      // tolerances about a round's mean
constexpr double as_far = 0.85;     // [-] what decays over 150 cycles keeps as much over half of `seen_in`
constexpr double drifts = 0.25;     // [-] of its range; a ramp's mean moves by all of it
constexpr double most_ahead = 8.0;  // tolerances, mean over a round: swings with the figures

/// Σ of what follows a step that was `step` after `before`, none if it turned round.
double remainder(double step, double before, double most_ratio) {
  if (!std::isfinite(step) || !std::isfinite(before)) return INFINITY;
  const double ratio = before != 0.0 ? std::clamp(step / before, 0.0, most_ratio) : 0.0;
  return std::abs(step) / (1.0 - ratio);
}

}  // namespace

double largest(const VectorXd& values) {
  return values.allFinite() ? values.cwiseAbs().maxCoeff() : INFINITY;
}

void ConvergenceMonitor::add(const VectorXd& figures, double ahead) {
  const double moved_before = moved_;
  moved_ = last_.empty() ? INFINITY : largest(figures - last_.back().figures);
  left_ = std::max(ahead, remainder(moved_, moved_before, slowest));
  last_.push_back({figures, ahead});
  if (last_.size() > seen_in) last_.pop_front();
  repeated_ = left_ < tolerance_ ? repeated_ + 1 : 0;
  stood_ = swings_about_an_end() ? stood_ + 1 : 0;
  shown_ = repeated_ >= in_a_row_ ? in_a_row_ : stood_ >= rounds_in_a_row ? round_ : 0;
}

VectorXd ConvergenceMonitor::mean_of_round(int back) const {
  VectorXd sum = VectorXd::Zero(last_.back().figures.size());
  const auto end = last_.end() - back * round_;
  for (auto entry = end - round_; entry != end; ++entry) sum += entry->figures;
  return sum / round_;
}

bool ConvergenceMonitor::goes_round() const {
  if (last_.size() < seen_in) return false;
  constexpr int half = seen_in / 2;
  // Of each figure over either half: mean and range.
  struct Half {
    VectorXd mean, range;
  };
  const auto over_half = [&](std::deque<Entry>::const_iterator begin) {
    VectorXd low = begin->figures, high = low, sum = VectorXd::Zero(low.size());
    for (auto entry = begin; entry != begin + half; ++entry) {
      low = low.cwiseMin(entry->figures);
      high = high.cwiseMax(entry->figures);
      sum += entry->figures;
    }
    return Half{sum / half, high - low};
  };
  const Half before = over_half(last_.begin()), now = over_half(last_.begin() + half);
  // Any figure will do. What drifts has another mean; what dies out ranges less far.
  for (Eigen::Index i = 0; i < now.mean.size(); ++i)
    if (now.range[i] > tolerance_ && now.range[i] > as_far * before.range[i] &&
        std::abs(now.mean[i] - before.mean[i]) < drifts * now.range[i])
      return true;
  return false;
}

bool ConvergenceMonitor::swings_about_an_end() const {
  if (last_.size() < 3 * static_cast<std::size_t>(round_)) return false;
  const VectorXd now = mean_of_round(0), before = mean_of_round(1), first = mean_of_round(2);
  for (Eigen::Index i = 0; i < now.size(); ++i)
    if (!(remainder(now[i] - before[i], before[i] - first[i], slowest_round) < tolerance_)) return false;
  double swing = 0.0, ahead = 0.0;
  for (auto entry = last_.end() - round_; entry != last_.end(); ++entry) {
    swing = std::max(swing, largest(entry->figures - now));
    ahead += entry->ahead / round_;
  }
  return swing < most_swing * tolerance_ && ahead < most_ahead * tolerance_;
}

}  // namespace glassbowl::sim
