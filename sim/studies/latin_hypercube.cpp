#include "sim/studies/latin_hypercube.hpp"

#include <Eigen/Dense>
#include <algorithm>
#include <boost/math/distributions/normal.hpp>
#include <numeric>
#include <random>

namespace glassbowl::sim {
namespace {

/// Uniform in [0, below), the same on every machine, unlike the library's distributions.
std::size_t uniform_below(std::mt19937_64& random, std::size_t below) {
  return static_cast<std::size_t>((random() >> 11) % below);
}

void shuffle(std::vector<double>& values, std::mt19937_64& random) {
  for (std::size_t i = values.size(); i > 1; --i) std::swap(values[i - 1], values[uniform_below(random, i)]);
}

/// Puts `values` (rising) into the order in which `like` ranks.
void rank_as(std::vector<double>& values, const Eigen::VectorXd& like) {
  std::vector<std::size_t> order(values.size());
  std::iota(order.begin(), order.end(), 0);
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return like(static_cast<Eigen::Index>(a)) < like(static_cast<Eigen::Index>(b));
  });
  std::vector<double> out(values.size());
  for (std::size_t k = 0; k < order.size(); ++k) out[order[k]] = values[k];
  values = std::move(out);
}

}  // namespace

double normal_quantile(double probability) {
  return boost::math::quantile(boost::math::normal(), probability);
}

Scores normal_scores(std::size_t samples, std::size_t inputs, std::uint64_t seed) {
  std::mt19937_64 random(seed);
  std::vector<double> middles;  // of the parts
  for (std::size_t k = 0; k < samples; ++k)
    middles.push_back(normal_quantile((static_cast<double>(k) + 0.5) / static_cast<double>(samples)));
  const auto n = static_cast<Eigen::Index>(samples), p = static_cast<Eigen::Index>(inputs);
  Eigen::MatrixXd scores(n, p);
  for (Eigen::Index i = 0; i < p; ++i) {
    std::vector<double> column = middles;
    shuffle(column, random);
    for (Eigen::Index k = 0; k < n; ++k) scores(k, i) = column[static_cast<std::size_t>(k)];
  }
  // Their accidental correlations are taken out, and the parts are dealt out in the order that results.
  constexpr int rounds = 4;
  for (int round = 0; round < rounds && n > p + 1; ++round) {
    const Eigen::MatrixXd correlation = scores.transpose() * scores / scores.col(0).squaredNorm();
    const Eigen::LLT<Eigen::MatrixXd> root(correlation);
    if (root.info() != Eigen::Success) break;
    const Eigen::MatrixXd apart = root.matrixL().solve(scores.transpose()).transpose();
    for (Eigen::Index i = 0; i < p; ++i) {
      std::vector<double> column = middles;
      rank_as(column, apart.col(i));
      for (Eigen::Index k = 0; k < n; ++k) scores(k, i) = column[static_cast<std::size_t>(k)];
    }
  }
  Scores out(samples, std::vector<double>(inputs));
  for (std::size_t k = 0; k < samples; ++k)
    for (std::size_t i = 0; i < inputs; ++i)
      out[k][i] = scores(static_cast<Eigen::Index>(k), static_cast<Eigen::Index>(i));
  return out;
}

}  // namespace glassbowl::sim
