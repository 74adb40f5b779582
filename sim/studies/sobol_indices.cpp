#include "sim/studies/sobol_indices.hpp"

#include <boost/random/sobol.hpp>
#include <cmath>

namespace glassbowl::sim {

std::vector<std::vector<double>> sobol_points(std::size_t count, std::size_t dimensions) {
  boost::random::sobol next(dimensions);
  std::vector<std::vector<double>> out(count, std::vector<double>(dimensions));
  for (auto& point : out)
    for (double& x : point) x = (std::floor(static_cast<double>(next() >> 12)) + 0.5) * 0x1p-52;
  return out;
}

SobolIndices sobol_indices(std::size_t inputs, std::size_t samples,
                           const std::function<double(const std::vector<double>&)>& function) {
  const auto points = sobol_points(samples, 2 * inputs);
  const auto count = static_cast<double>(samples);
  const auto middle = static_cast<std::ptrdiff_t>(inputs);
  std::vector<std::vector<double>> a, b;
  std::vector<double> of_a, of_b;
  SobolIndices out;
  for (const auto& point : points) {
    a.emplace_back(point.begin(), point.begin() + middle);
    b.emplace_back(point.begin() + middle, point.end());
    of_a.push_back(function(a.back()));
    of_b.push_back(function(b.back()));
    out.mean += 0.5 * (of_a.back() + of_b.back()) / count;
  }
  for (std::size_t k = 0; k < samples; ++k)
    out.variance += 0.5 * (std::pow(of_a[k] - out.mean, 2) + std::pow(of_b[k] - out.mean, 2)) / count;
  for (std::size_t i = 0; i < inputs; ++i) {
    double first = 0.0, total = 0.0;
    for (std::size_t k = 0; k < samples; ++k) {
      std::vector<double> mixed = a[k];
      mixed[i] = b[k][i];
      const double moved = function(mixed);
      first += (of_b[k] - out.mean) * (moved - of_a[k]) / count;
      total += 0.5 * std::pow(moved - of_a[k], 2) / count;
    }
    out.first.push_back(out.variance > 0.0 ? first / out.variance : 0.0);
    out.total.push_back(out.variance > 0.0 ? total / out.variance : 0.0);
  }
  return out;
}

}  // namespace glassbowl::sim
