#include "sim/solver/stepper.hpp"

#include <catch2/catch.hpp>

#include "tests/support/tolerance.hpp"

using namespace glassbowl;
using namespace glassbowl::sim;

TEST_CASE("error-controlled steps: a small flow out of a large store loses nothing to rounding",
          "[sim][solver]") {
  // 1 kg gives 1e-18 kg in each of 100,000 steps, far less than its last place, 1.1e-16 kg.
  const auto names = std::make_shared<const std::vector<StateName>>(2);
  const auto stepper =
      make_stepper({.method = Method::error_controlled, .step = 1e-5}, {names, {1.0, 1.0}, {0.0, 0.0}});
  const Rates rates = [](const State&, State& dx, double) { dx = {-1e-13, 1e-13}; };
  State x{1.0, 0.0}, dx(2), next;
  for (int i = 0; i < 100000; ++i) {
    const double t = 1e-5 * i;
    rates(x, dx, t);
    stepper->step(rates, x, dx, t, t + 1e-5, next);
    x.swap(next);
  }
  CHECK_THAT(x[1], tests::near(1e-13, tests::relative(1e-9, "a sum of 100,000 equal terms")));
  CHECK_THAT(1.0 - x[0], tests::near(1e-13, tests::relative(1.2e-3, "the store's last place")));
}
