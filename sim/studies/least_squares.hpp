#pragma once
#include <vector>

namespace glassbowl::sim {

/// A linear least-squares fit y = Σ b_i x_i with what it leaves open.
/// Source  JCGM 100:2008 (GUM), annex H.3, for the residual's standard deviation, the covariance of the
///   coefficients and the uncertainty of a prediction, in which that covariance counts.
struct LeastSquares {
  std::vector<double> coefficients;
  std::vector<std::vector<double>> covariance;  ///< of the coefficients
  double residual = 0.0;                        ///< standard deviation, by the degrees of freedom left

  double at(const std::vector<double>& x) const;              ///< what is predicted
  double uncertainty_at(const std::vector<double>& x) const;  ///< standard uncertainty of it, without scatter
};

/// `rows` x of each observation, all of one length; `y` as many. Coefficients that the rows cannot tell apart
/// get the smallest ones that fit. Throws std::invalid_argument where there are fewer rows than coefficients.
LeastSquares fit_least_squares(const std::vector<std::vector<double>>& rows, const std::vector<double>& y);

/// Standard deviation of g·x where x has this covariance: first-order propagation of uncertainty.
/// Source  JCGM 100:2008, equation (13).
double propagated(const std::vector<double>& gradient, const std::vector<std::vector<double>>& covariance);

}  // namespace glassbowl::sim
