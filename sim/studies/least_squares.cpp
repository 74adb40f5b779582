#include "sim/studies/least_squares.hpp"

#include <Eigen/Dense>
#include <cmath>
#include <stdexcept>

namespace glassbowl::sim {

double LeastSquares::at(const std::vector<double>& x) const {
  double sum = 0.0;
  for (std::size_t i = 0; i < x.size(); ++i) sum += coefficients[i] * x[i];
  return sum;
}

double LeastSquares::uncertainty_at(const std::vector<double>& x) const {
  return propagated(x, covariance);
}

LeastSquares fit_least_squares(const std::vector<std::vector<double>>& rows, const std::vector<double>& y) {
  const auto n = static_cast<Eigen::Index>(rows.size());
  const auto k = rows.empty() ? Eigen::Index{0} : static_cast<Eigen::Index>(rows.front().size());
  if (n < k || k == 0 || y.size() != rows.size())
    throw std::invalid_argument("a fit needs as many observations as coefficients");
  Eigen::MatrixXd x(n, k);
  Eigen::VectorXd right(n);
  for (Eigen::Index r = 0; r < n; ++r) {
    for (Eigen::Index c = 0; c < k; ++c)
      x(r, c) = rows[static_cast<std::size_t>(r)][static_cast<std::size_t>(c)];
    right(r) = y[static_cast<std::size_t>(r)];
  }
  const Eigen::CompleteOrthogonalDecomposition<Eigen::MatrixXd> solved(x);
  const Eigen::VectorXd b = solved.solve(right);
  LeastSquares out;
  const double freedom = static_cast<double>(n - k);
  out.residual = freedom > 0.0 ? std::sqrt((right - x * b).squaredNorm() / freedom) : 0.0;
  const Eigen::MatrixXd inverse = solved.pseudoInverse();
  const Eigen::MatrixXd covariance = out.residual * out.residual * inverse * inverse.transpose();
  out.coefficients.assign(b.data(), b.data() + k);
  out.covariance.assign(static_cast<std::size_t>(k), std::vector<double>(static_cast<std::size_t>(k)));
  for (Eigen::Index i = 0; i < k; ++i)
    for (Eigen::Index j = 0; j < k; ++j)
      out.covariance[static_cast<std::size_t>(i)][static_cast<std::size_t>(j)] = covariance(i, j);
  return out;
}

double propagated(const std::vector<double>& gradient, const std::vector<std::vector<double>>& covariance) {
  double sum = 0.0;
  for (std::size_t i = 0; i < gradient.size(); ++i)
    for (std::size_t j = 0; j < gradient.size(); ++j) sum += gradient[i] * covariance[i][j] * gradient[j];
  return std::sqrt(std::max(sum, 0.0));
}

}  // namespace glassbowl::sim
