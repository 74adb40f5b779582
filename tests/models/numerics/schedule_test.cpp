#include "models/numerics/schedule.hpp"

#include <catch2/catch.hpp>

#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

TEST_CASE("schedule: passes its points, is straight between and constant outside",
          "[models][numerics][schedule][exact]") {
  const Schedule<> s({{1.0, 10.0}, {2.0, 30.0}, {4.0, -10.0}});
  CHECK(s(1.0) == 10.0);
  CHECK(s(2.0) == 30.0);
  CHECK(s(4.0) == -10.0);
  CHECK(s(1.5) == 20.0);
  CHECK(s(3.0) == 10.0);
  CHECK(s(-1e9) == 10.0);
  CHECK(s(1e9) == -10.0);
  CHECK(jump_ratio(0.0, 5.0, 500, s) < smooth_ratio);
}

TEST_CASE("schedule: two points at one place make a step", "[models][numerics][schedule][limit]") {
  const Schedule<> s({{0.0, 0.0}, {1.0, 0.0}, {1.0, 5.0}, {2.0, 5.0}});
  CHECK(s(1.0 - 1e-12) == 0.0);
  CHECK(s(1.0) == 5.0);
  CHECK(s(1.5) == 5.0);
}

TEST_CASE("schedule: knows when it never changes", "[models][numerics][schedule][exact]") {
  CHECK(Schedule<>::constant(3.5)(-7.0) == 3.5);
  CHECK(Schedule<>::constant(3.5)(7.0) == 3.5);
  CHECK(Schedule<>::constant(3.5).is_constant());
  CHECK(Schedule<>()(1.0) == 0.0);
  const Schedule<> two({{0.0, 1.0}, {1.0, 2.0}});
  CHECK_FALSE(two.is_constant());
  CHECK(two.points().size() == 2);
}
