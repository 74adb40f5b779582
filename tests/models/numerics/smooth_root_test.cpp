#include "models/numerics/smooth_root.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

TEST_CASE("smooth root: zero at zero, odd, slope 1/sqrt(d) there",
          "[models][numerics][smooth_root][symmetry]") {
  CHECK(smooth_root(0.0, 5.0) == 0.0);
  for (double x : {1e-6, 0.3, 5.0, 2e4}) CHECK(smooth_root(-x, 5.0) == -smooth_root(x, 5.0));
  CHECK_THAT(smooth_root(1e-6, 5.0) / 1e-6, near(1.0 / std::sqrt(5.0), relative(1e-12, "(x/d)^2 / 4")));
}

TEST_CASE("smooth root: within 0.25 % of the root at ten widths", "[models][numerics][smooth_root][limit]") {
  const double error = 1.0 - smooth_root(50.0, 5.0) / std::sqrt(50.0);
  CHECK(error > 0.0);
  CHECK(error < 0.0025);
  CHECK_THAT(smooth_root(4.0, 1e-9), near(2.0, round_off(4)));
}

TEST_CASE("smooth root: rises without a kink", "[models][numerics][smooth_root][continuity]") {
  const auto f = [](double x) { return smooth_root(x, 5.0); };
  CHECK(never_falls(-100.0, 100.0, 2000, f));
  CHECK(kink_ratio(-50.0, 50.0, 1000, f) < smooth_ratio);
}

TEST_CASE("smooth root: units agree", "[models][numerics][smooth_root][units]") {
  CHECK(smooth_root(3.0 * units::pascal, 5.0 * units::pascal).dimension() == units::pascal.root());
  CHECK_THROWS(smooth_root(3.0 * units::pascal, Dimensioned(5.0)));
}
