#include "sim/studies/linear_response.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <numeric>
#include <random>

#include "sim/studies/least_squares.hpp"
#include "sim/studies/sobol_indices.hpp"

using namespace glassbowl::sim;
using Catch::Matchers::WithinAbs;
using Catch::Matchers::WithinRel;

namespace {

constexpr std::size_t bikes = 64, sizes = 55;

/// Two outputs of a linear model with seven inputs that count and 48 that do not.
const std::vector<std::vector<double>> slopes{{0.040, -0.030, 0.020, 0.015, 0.010, 0.0, 0.005},
                                              {0.010, -0.020, 0.040, 0.0, 0.010, 0.020, 0.005}};

std::vector<std::vector<double>> linear(const Scores& scores) {
  std::vector<std::vector<double>> y;
  for (const auto& z : scores) {
    y.emplace_back();
    for (const auto& slope : slopes)
      y.back().push_back(0.3 + std::inner_product(slope.begin(), slope.end(), z.begin() + 3, 0.0));
  }
  return y;
}

double correlation(const Scores& scores, std::size_t a, std::size_t b) {
  double ab = 0.0, aa = 0.0, bb = 0.0;
  for (const auto& z : scores) ab += z[a] * z[b], aa += z[a] * z[a], bb += z[b] * z[b];
  return ab / std::sqrt(aa * bb);
}

}  // namespace

TEST_CASE("linear response: deviations are a Latin hypercube, nearly uncorrelated, and repeat bit for bit",
          "[sim][studies]") {
  const Scores scores = normal_scores(bikes, sizes, 1);
  for (std::size_t i = 0; i < sizes; ++i) {
    std::vector<bool> seen(bikes, false);
    double squares = 0.0;
    for (const auto& z : scores) {
      seen[static_cast<std::size_t>(0.5 * std::erfc(-z[i] / std::sqrt(2.0)) * bikes)] = true;
      squares += z[i] * z[i];
    }
    CHECK(std::count(seen.begin(), seen.end(), true) == bikes);
    CHECK_THAT(squares / bikes, WithinAbs(1.0, 0.03));
  }
  double sum = 0.0, most = 0.0;
  for (std::size_t a = 0; a < sizes; ++a)
    for (std::size_t b = 0; b < a; ++b) {
      sum += std::pow(correlation(scores, a, b), 2);
      most = std::max(most, std::abs(correlation(scores, a, b)));
    }
  const double rms = std::sqrt(sum / (0.5 * sizes * (sizes - 1)));
  CAPTURE(rms, most);
  CHECK(rms < 0.06);  // shuffled independently 1/8
  CHECK(normal_scores(bikes, sizes, 1) == scores);
  CHECK(normal_scores(bikes, sizes, 2) != scores);
}

TEST_CASE("linear response: of a linear model mean, slopes and variance shares are exact", "[sim][studies]") {
  const Scores scores = normal_scores(bikes, sizes, 1);
  const LinearResponse found = fit_response(scores, linear(scores));
  double variance = 0.0;
  for (const auto& slope : slopes)
    variance += std::inner_product(slope.begin(), slope.end(), slope.begin(), 0.0);
  for (std::size_t k = 0; k < slopes[0].size(); ++k)
    CHECK_THAT(found.share[3 + k],
               WithinAbs((slopes[0][k] * slopes[0][k] + slopes[1][k] * slopes[1][k]) / variance, 1e-9));
  CHECK(found.chosen.size() == slopes[0].size());
  CHECK_THAT(found.explained, WithinAbs(1.0, 1e-9));
  for (std::size_t j = 0; j < 2; ++j) CHECK_THAT(found.mean[j], WithinAbs(0.3, 1e-12));
  // What is sampled from it has the exact standard deviation, and its 95 % range is the normal one.
  const auto many = sampled(found, 4096);
  for (std::size_t j = 0; j < 2; ++j) {
    const double exact =
        std::sqrt(std::inner_product(slopes[j].begin(), slopes[j].end(), slopes[j].begin(), 0.0));
    std::vector<double> column;
    for (const auto& row : many) column.push_back(row[j]);
    const Range95 range = range_95(column);
    CHECK_THAT(range.high - 0.3, WithinRel(1.96 * exact, 0.02));
    CHECK_THAT(0.3 - range.low, WithinRel(1.96 * exact, 0.02));
  }
}

TEST_CASE("linear response: the drawn bikes alone give the exact standard deviation of a linear model",
          "[sim][studies]") {
  const Scores scores = normal_scores(bikes, sizes, 1);
  const auto y = linear(scores);
  for (std::size_t j = 0; j < 2; ++j) {
    double mean = 0.0, squares = 0.0;
    for (const auto& row : y) mean += row[j] / bikes;
    for (const auto& row : y) squares += std::pow(row[j] - mean, 2) / (bikes - 1);
    const double exact =
        std::sqrt(std::inner_product(slopes[j].begin(), slopes[j].end(), slopes[j].begin(), 0.0));
    CHECK_THAT(mean, WithinAbs(0.3, 0.1 * exact));
    CHECK_THAT(std::sqrt(squares), WithinRel(exact, 0.15));
    const std::vector<std::vector<double>> unit = [] {
      std::vector<std::vector<double>> c(7, std::vector<double>(7, 0.0));
      for (std::size_t i = 0; i < 7; ++i) c[i][i] = 1.0;
      return c;
    }();
    CHECK_THAT(propagated(slopes[j], unit), WithinRel(exact, 1e-12));
  }
}

TEST_CASE("linear response: inputs without effect are hardly ever chosen, and noise stays as rest",
          "[sim][studies]") {
  std::mt19937_64 random(7);
  std::size_t chosen = 0;
  double rest = 0.0;
  constexpr int tries = 20;
  for (int t = 0; t < tries; ++t) {
    const Scores scores = normal_scores(bikes, sizes, static_cast<std::uint64_t>(t));
    std::vector<std::vector<double>> y;
    for (std::size_t b = 0; b < bikes; ++b)
      y.push_back({0.01 * normal_quantile((static_cast<double>(random() >> 11) + 0.5) * 0x1p-53)});
    const LinearResponse found = fit_response(scores, y);
    chosen += found.chosen.size();
    for (const auto& row : found.rest) rest += row[0] * row[0] / (bikes - 1) / tries;
  }
  CHECK(chosen <= 10);
  CHECK_THAT(std::sqrt(rest), WithinRel(0.01, 0.05));
}

TEST_CASE("linear response: a 95 % range holds the next value 95 times of 100, whether of few or many values",
          "[sim][studies]") {
  std::mt19937_64 random(3);
  const auto normal = [&] {
    return std::exp(0.1 * normal_quantile((static_cast<double>(random() >> 11) + 0.5) * 0x1p-53));
  };
  for (const std::size_t count : {8, 24, 40, 64}) {
    int inside = 0;
    constexpr int tries = 4000;
    for (int t = 0; t < tries; ++t) {
      std::vector<double> values;
      for (std::size_t k = 0; k < count; ++k) values.push_back(normal());
      const Range95 range = range_95(values);
      const double next = normal();
      if (next >= range.low && next <= range.high) ++inside;
    }
    CAPTURE(count);
    CHECK_THAT(static_cast<double>(inside) / tries, WithinAbs(0.95, 0.012));  // 3.5 standard errors
  }
  CHECK(std::isnan(range_95({1.0, 1.1}).low));
}

TEST_CASE("linear response: shares of a linear function by Sobol's indices are those of its slopes",
          "[sim][studies]") {
  const auto indices = sobol_indices(3, 4096, [](const std::vector<double>& u) {
    return 3.0 * normal_quantile(u[0]) + 2.0 * normal_quantile(u[1]) + 1.0 * normal_quantile(u[2]);
  });
  for (const auto& [i, share] :
       {std::pair{0u, 9.0 / 14.0}, std::pair{1u, 4.0 / 14.0}, std::pair{2u, 1.0 / 14.0}}) {
    CHECK_THAT(indices.first[i], WithinAbs(share, 0.01));
    CHECK_THAT(indices.total[i], WithinAbs(share, 0.01));
  }
  CHECK_THAT(indices.variance, WithinRel(14.0, 0.01));
}
