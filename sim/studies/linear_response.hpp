#pragma once
#include <cstddef>
#include <vector>

#include "sim/studies/latin_hypercube.hpp"

namespace glassbowl::sim {

/// What drawn samples tell about several outputs as linear functions of standard normal deviations,
///   y_j = mean_j + Σ_i slope_ji z_i + rest_j
/// Inputs are chosen one after the other, each time the one that explains most of what is left of all outputs
/// together, as long as it explains more than chance would. So there may be more inputs than samples, and
/// what the chosen ones do not explain is kept as it was found.
struct LinearResponse {
  std::vector<std::size_t> chosen;         ///< inputs
  std::vector<double> mean;                ///< of each output
  std::vector<std::vector<double>> slope;  ///< [output][chosen] per standard deviation
  std::vector<std::vector<double>>
      rest;                   ///< [sample][output] not explained, widened by the degrees of freedom
  std::vector<double> share;  ///< [-] of each input in the variance of all outputs together
  double explained = 0.0;     ///< [-] of that variance

  std::size_t outputs() const { return mean.size(); }
};

/// `y` [sample][output].
LinearResponse fit_response(const Scores& scores, const std::vector<std::vector<double>>& y);

/// [sample][output]: outputs of `count` samples, by Sobol's sequence for the chosen inputs and the rests in
/// turn.
std::vector<std::vector<double>> sampled(const LinearResponse& response, std::size_t count);

/// Lowest and highest of the range in which the next value lies with a probability of 95 %.
struct Range95 {
  double low = 0.0, high = 0.0;
};

/// Of 39 values and more by their order, the k-th of n lying at k/(n + 1); of fewer by Student's distribution
/// of their logarithms. Both count the small number of values. Values that are not finite or not positive are
/// left out; fewer than three give NaN.
Range95 range_95(std::vector<double> values);

}  // namespace glassbowl::sim
