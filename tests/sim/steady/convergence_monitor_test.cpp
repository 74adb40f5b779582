#include "sim/steady/convergence_monitor.hpp"

#include <catch2/catch.hpp>
#include <cmath>
#include <functional>

using namespace glassbowl::sim;

namespace {

/// Cycles until a course of one figure is taken for settled, 0 if it never is; `shown` of the last is left.
int settles_after(const std::function<double(int)>& figure, int& shown) {
  ConvergenceMonitor settling(5e-4, 3, 5);
  for (int n = 1; n <= 400; ++n) {
    settling.add(Eigen::VectorXd::Constant(1, figure(n)), 0.0);
    shown = settling.shown();
    if (shown > 0) return n;
  }
  return 0;
}

}  // namespace

TEST_CASE("settling: a figure that decays slowly is settled when little is left of it", "[sim][steady]") {
  const double ratio = GENERATE(0.5, 0.9, 0.97);
  CAPTURE(ratio);
  int shown = 0;
  const auto figure = [&](int n) { return 0.3 * std::pow(ratio, n); };
  const int after = settles_after(figure, shown);
  REQUIRE(after > 0);
  CHECK(figure(after) < 5e-4);
  CHECK(figure(after) > 5e-6);  // and does not wait for ever
}

TEST_CASE("settling: a swing about a fixed mean is settled, and the mean is taken over whole rounds",
          "[sim][steady]") {
  int shown = 0;
  const auto figure = [](int n) { return 1e-3 * std::sin(2.0 * 3.14159265 * n / 5.0); };
  CHECK(settles_after(figure, shown) > 0);
  CHECK(shown == 5);
}

TEST_CASE("settling: what drifts, or swings too far, is not settled", "[sim][steady]") {
  int shown = 0;
  CHECK(settles_after([](int n) { return 2e-4 * n; }, shown) == 0);
  CHECK(settles_after([](int n) { return 5e-3 * std::sin(2.0 * 3.14159265 * n / 5.0); }, shown) == 0);
  CHECK(settles_after([](int) { return std::nan(""); }, shown) == 0);
}

TEST_CASE("settling: figures that stand still do not count while slow states still have to go",
          "[sim][steady]") {
  ConvergenceMonitor settling(5e-4, 3, 5);
  for (int n = 0; n < 60; ++n) settling.add(Eigen::VectorXd::Constant(1, 1.0), 0.1);
  CHECK(settling.shown() == 0);
  for (int n = 0; n < 3; ++n) settling.add(Eigen::VectorXd::Constant(1, 1.0), 1e-5);
  CHECK(settling.shown() == 3);
}

TEST_CASE("settling: what goes round in threes is told from what decays", "[sim][steady]") {
  const auto goes_round = [](const std::function<double(int)>& figure) {
    ConvergenceMonitor settling(5e-4, 3, 5);
    for (int n = 0; n < ConvergenceMonitor::seen_in; ++n)
      settling.add(Eigen::VectorXd::Constant(1, figure(n)), 0.0);
    return settling.goes_round();
  };
  CHECK(goes_round([](int n) { return 0.1 * (n % 3); }));
  CHECK_FALSE(goes_round([](int n) { return std::exp(-n / 120.0); }));
  CHECK_FALSE(goes_round([](int n) { return 2e-4 * n; }));
  CHECK_FALSE(goes_round([](int n) { return 1e-5 * (n % 3); }));  // within the tolerance
  CHECK_FALSE(goes_round([](int n) { return std::pow(0.97, n) * (n % 3); }));
}
