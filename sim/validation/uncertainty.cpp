#include <array>
#include <cmath>
#include <numbers>
#include <string>

#include "sim/studies/least_squares.hpp"
#include "sim/studies/sobol_indices.hpp"
#include "sim/validation/engine_topics.hpp"

namespace glassbowl::validation {
namespace {

/// A thermometer's corrections over temperature: a straight line with correlated coefficients.
void check_straight_line(std::vector<Row>& rows) {
  constexpr std::array t{21.521, 22.012, 22.512, 23.003, 23.507, 23.999,
                         24.513, 25.002, 25.503, 26.010, 26.511};
  constexpr std::array b{-0.171, -0.169, -0.166, -0.159, -0.164, -0.165,
                         -0.156, -0.157, -0.159, -0.161, -0.160};
  std::vector<std::vector<double>> x;
  std::vector<double> y;
  for (std::size_t i = 0; i < t.size(); ++i) {
    x.push_back({1.0, t[i] - 20.0});
    y.push_back(b[i]);
  }
  const sim::LeastSquares fit = sim::fit_least_squares(x, y);
  const double s1 = std::sqrt(fit.covariance[0][0]), s2 = std::sqrt(fit.covariance[1][1]);
  const Source gum{"JCGM 100:2008 (GUM)", "annex H.3, table H.6", Seen::from_memory};
  const auto row = [&](const char* what, double published, double computed, double digit, const char* unit) {
    rows.push_back({"least_squares",
                    what,
                    gum,
                    published,
                    computed,
                    absolute(0.5001 * digit, "printed digits"),
                    unit,
                    {}});
  };
  row("correction at 20 degC", -0.1712, fit.coefficients[0], 1e-4, "K");
  row("its standard deviation", 0.0029, s1, 1e-4, "K");
  row("slope over temperature", 0.00218, fit.coefficients[1], 1e-5, "-");
  row("its standard deviation, of the slope", 0.00067, s2, 1e-5, "-");
  row("correlation of both", -0.930, fit.covariance[0][1] / (s1 * s2), 1e-3, "-");
  row("standard deviation of the readings", 0.0035, fit.residual, 1e-4, "K");
  row("correction at 30 degC", -0.1494, fit.at({1.0, 10.0}), 1e-4, "K");
  row("its standard uncertainty, by the covariance", 0.0041, fit.uncertainty_at({1.0, 10.0}), 1e-4, "K");
}

/// sin x1 + a sin² x2 + b x3⁴ sin x1, each x uniform from -π to π.
void check_ishigami(std::vector<Row>& rows) {
  constexpr double pi = std::numbers::pi, a = 7.0, b = 0.1;
  const auto indices = sim::sobol_indices(3, 8192, [&](const std::vector<double>& u) {
    const auto x = [&](std::size_t i) { return pi * (2.0 * u[i] - 1.0); };
    return std::sin(x(0)) + a * std::pow(std::sin(x(1)), 2) + b * std::pow(x(2), 4) * std::sin(x(0));
  });
  const Source source{"Ishigami and Homma, ISUMA 1990", "the indices in closed form", Seen::from_memory};
  constexpr std::array first{0.3139, 0.4424, 0.0}, total{0.5576, 0.4424, 0.2437};
  for (std::size_t i = 0; i < 3; ++i) {
    const std::string input = "of input " + std::to_string(i + 1);
    rows.push_back({"sobol_indices",
                    "first-order share " + input,
                    source,
                    first[i],
                    indices.first[i],
                    absolute(0.005, "8,192 points of a quasi-random sequence"),
                    "-",
                    {}});
    rows.push_back({"sobol_indices",
                    "total share " + input,
                    source,
                    total[i],
                    indices.total[i],
                    absolute(0.005, "8,192 points of a quasi-random sequence"),
                    "-",
                    {}});
  }
}

}  // namespace

void check_uncertainty(std::vector<Row>& rows) {
  check_straight_line(rows);
  check_ishigami(rows);
}

}  // namespace glassbowl::validation
