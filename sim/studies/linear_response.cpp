#include "sim/studies/linear_response.hpp"

#include <algorithm>
#include <boost/math/distributions/students_t.hpp>
#include <cmath>
#include <random>

#include "sim/studies/least_squares.hpp"
#include "sim/studies/sobol_indices.hpp"

namespace glassbowl::sim {
namespace {

/// A gain below this many times what a useless input gains by chance is none. The best of sixty useless ones
/// gains 9 times the mean of one every tenth time.
constexpr double by_chance = 9.0;

using Rows = std::vector<std::vector<double>>;

double sum_of_squares(const Rows& rows) {
  double sum = 0.0;
  for (const auto& row : rows)
    for (const double value : row) sum += value * value;
  return sum;
}

/// The part of `rest` that an input explains.
double gain_of(const Scores& scores, std::size_t input, const Rows& rest) {
  double own = 0.0, gain = 0.0;
  for (const auto& z : scores) own += z[input] * z[input];
  if (!(own > 0.0)) return 0.0;
  for (std::size_t j = 0; j < rest.front().size(); ++j) {
    double both = 0.0;
    for (std::size_t b = 0; b < rest.size(); ++b) both += scores[b][input] * rest[b][j];
    gain += both * both / own;
  }
  return gain;
}

}  // namespace

LinearResponse fit_response(const Scores& scores, const Rows& y) {
  LinearResponse out;
  const std::size_t samples = scores.size(), inputs = samples > 0 ? scores.front().size() : 0,
                    outputs = samples > 0 ? y.front().size() : 0;
  out.share.assign(inputs, 0.0);
  out.mean.assign(outputs, 0.0);
  out.slope.assign(outputs, {});
  const auto count = static_cast<double>(samples);
  for (const auto& row : y)
    for (std::size_t j = 0; j < outputs; ++j) out.mean[j] += row[j] / count;
  out.rest = y;
  for (auto& row : out.rest)
    for (std::size_t j = 0; j < outputs; ++j) row[j] -= out.mean[j];
  const double all = sum_of_squares(out.rest);
  if (!(all > 0.0)) return out;
  double left = all;
  // A third of the samples stays for what is left.
  while (3 * (out.chosen.size() + 1) <= 2 * samples && out.chosen.size() < inputs && left > 1e-12 * all) {
    std::size_t best = inputs;
    double most = 0.0;
    for (std::size_t i = 0; i < inputs; ++i) {
      if (std::find(out.chosen.begin(), out.chosen.end(), i) != out.chosen.end()) continue;
      if (const double gain = gain_of(scores, i, out.rest); gain > most) most = gain, best = i;
    }
    const double freedom = count - static_cast<double>(out.chosen.size()) - 2.0;
    if (best == inputs || most * freedom < by_chance * (left - most)) break;
    out.chosen.push_back(best);
    Rows x;
    for (const auto& z : scores) {
      x.push_back({1.0});
      for (const std::size_t i : out.chosen) x.back().push_back(z[i]);
    }
    for (std::size_t j = 0; j < outputs; ++j) {
      std::vector<double> column;
      for (const auto& row : y) column.push_back(row[j]);
      const LeastSquares fit = fit_least_squares(x, column);
      out.mean[j] = fit.coefficients.front();
      out.slope[j].assign(fit.coefficients.begin() + 1, fit.coefficients.end());
      for (std::size_t b = 0; b < samples; ++b) out.rest[b][j] = y[b][j] - fit.at(x[b]);
    }
    left = sum_of_squares(out.rest);
  }
  const double widened =
      std::sqrt((count - 1.0) / std::max(count - 1.0 - static_cast<double>(out.chosen.size()), 1.0));
  for (auto& row : out.rest)
    for (double& value : row) value *= widened;
  double variance = sum_of_squares(out.rest) / std::max(count - 1.0, 1.0);
  for (std::size_t k = 0; k < out.chosen.size(); ++k) {
    double& share = out.share[out.chosen[k]];
    for (std::size_t j = 0; j < outputs; ++j) share += out.slope[j][k] * out.slope[j][k];
    variance += share;
  }
  for (double& share : out.share) share /= variance;
  for (const double share : out.share) out.explained += share;
  return out;
}

Rows sampled(const LinearResponse& response, std::size_t count) {
  Rows out;
  const auto points = sobol_points(count, std::max<std::size_t>(response.chosen.size(), 1));
  std::mt19937_64 random(1);  // the sequence goes in step with its own numbers, so they choose no rest
  for (std::size_t s = 0; s < count; ++s) {
    std::vector<double> row = response.mean;
    for (std::size_t k = 0; k < response.chosen.size(); ++k) {
      const double z = normal_quantile(points[s][k]);
      for (std::size_t j = 0; j < row.size(); ++j) row[j] += response.slope[j][k] * z;
    }
    if (!response.rest.empty()) {
      const auto& rest = response.rest[(random() >> 11) % response.rest.size()];
      for (std::size_t j = 0; j < row.size(); ++j) row[j] += rest[j];
    }
    out.push_back(std::move(row));
  }
  return out;
}

Range95 range_95(std::vector<double> values) {
  std::erase_if(values, [](double v) { return !std::isfinite(v) || !(v > 0.0); });
  constexpr std::size_t enough = 39;  // the lowest then lies at 2.5 %
  const auto n = static_cast<double>(values.size());
  if (values.size() < 3) return {std::nan(""), std::nan("")};
  if (values.size() >= enough) {
    std::sort(values.begin(), values.end());
    const auto at = [&](double probability) {
      const double place = std::clamp(probability * (n + 1.0) - 1.0, 0.0, n - 1.0);
      const auto below = static_cast<std::size_t>(place);
      const std::size_t above = std::min(below + 1, values.size() - 1);
      return values[below] + (place - static_cast<double>(below)) * (values[above] - values[below]);
    };
    return {at(0.025), at(0.975)};
  }
  double mean = 0.0, squares = 0.0;
  for (const double v : values) mean += std::log(v) / n;
  for (const double v : values) squares += std::pow(std::log(v) - mean, 2);
  const double wide = boost::math::quantile(boost::math::students_t(n - 1.0), 0.975) *
                      std::sqrt(squares / (n - 1.0) * (1.0 + 1.0 / n));
  return {std::exp(mean - wide), std::exp(mean + wide)};
}

}  // namespace glassbowl::sim
