#include "models/numerics/select.hpp"

#include <catch2/catch.hpp>

#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

TEST_CASE("select: choices and bounds", "[models][numerics][select][exact]") {
  CHECK(select(true, 1.0, 2.0) == 1.0);
  CHECK(select(false, 1.0, 2.0) == 2.0);
  CHECK(min(-1.0, 2.0) == -1.0);
  CHECK(max(-1.0, 2.0) == 2.0);
  CHECK(clamp(-3.0, -1.0, 1.0) == -1.0);
  CHECK(clamp(0.25, -1.0, 1.0) == 0.25);
  CHECK(clamp(3.0, -1.0, 1.0) == 1.0);
  CHECK(positive_part(-2.0) == 0.0);
  CHECK(positive_part(2.0) == 2.0);
  CHECK(absolute(-2.0) == 2.0);
}

TEST_CASE("select: the rounded one-way function nears max(x, 0) as its header states",
          "[models][numerics][select][limit]") {
  const double width = 0.1;
  CHECK(smooth_positive_part(0.0, width) == 0.5 * width);
  for (double x : {0.1, 0.3, 1.0, 10.0, 1000.0}) {
    const double excess = smooth_positive_part(x, width) - x;
    CHECK(excess >= 0.0);
    CHECK(excess <= width * width / (4.0 * x) * (1.0 + 1e-9) + 1e-16 * x);
    // Its two sides differ by x: what does not pass one way passes the other.
    CHECK_THAT(smooth_positive_part(x, width) - smooth_positive_part(-x, width), near(x, round_off(4)));
  }
  CHECK(smooth_positive_part(3.0, 0.0) == 3.0);
  CHECK(smooth_positive_part(-3.0, 0.0) == 0.0);
  const auto f = [&](double x) { return smooth_positive_part(x, width); };
  CHECK(never_falls(-1.0, 1.0, 1000, f, 1e-15));
  CHECK(largest_over(-1.0, 1.0, 1000, [&](double x) { return -f(x); }) <= 0.0);
  CHECK(kink_ratio(-0.5, 0.5, 500, f) < smooth_ratio);
}

TEST_CASE("select: the smooth step runs from 0 to 1 without a kink", "[models][numerics][select][symmetry]") {
  const auto f = [](double s) { return smooth_step(s); };
  CHECK(f(-5.0) == 0.0);
  CHECK(f(0.0) == 0.0);
  CHECK(f(0.5) == 0.5);
  CHECK(f(1.0) == 1.0);
  CHECK(f(7.0) == 1.0);
  CHECK(never_falls(-0.5, 1.5, 1000, f, 1e-15));
  CHECK(kink_ratio(-0.5, 1.5, 500, f) < smooth_ratio);
  const auto asymmetry = [&](double s) { return std::abs(f(s) + f(1.0 - s) - 1.0); };
  CHECK_THAT(largest_over(0.0, 1.0, 97, asymmetry), near(0.0, round_off(4, 1.0)));
}
