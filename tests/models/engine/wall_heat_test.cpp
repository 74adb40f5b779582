#include "models/engine/wall_heat.hpp"

#include <catch2/catch.hpp>

#include "tests/support/random.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

TEST_CASE("wall heat: each quantity acts by its own power", "[models][engine][wall_heat][exact]") {
  const auto rounding = relative(3e-11, "errors stated for exponential and logarithm");
  const double V = 2e-4, p = 1e6, T = 1200.0, c = 8.0;
  const double h = hohenberg_coefficient(V, p, T, c);
  CHECK_THAT(hohenberg_coefficient(2.0 * V, p, T, c) / h, near(std::pow(2.0, -0.06), rounding));
  CHECK_THAT(hohenberg_coefficient(V, 2.0 * p, T, c) / h, near(std::pow(2.0, 0.8), rounding));
  CHECK_THAT(hohenberg_coefficient(V, p, 2.0 * T, c) / h, near(std::pow(2.0, -0.4), rounding));
  CHECK_THAT(hohenberg_coefficient(V, p, T, 2.0 * c + 1.4) / h, near(std::pow(2.0, 0.8), rounding));
  const double w = woschni_coefficient(0.08, p, T, c);
  CHECK_THAT(woschni_coefficient(0.16, p, T, c) / w, near(std::pow(2.0, -0.2), rounding));
  CHECK_THAT(woschni_coefficient(0.08, 2.0 * p, T, c) / w, near(std::pow(2.0, 0.8), rounding));
  CHECK_THAT(woschni_coefficient(0.08, p, 2.0 * T, c) / w, near(std::pow(2.0, -0.55), rounding));
  CHECK_THAT(woschni_coefficient(0.08, p, T, 2.0 * c) / w, near(std::pow(2.0, 0.8), rounding));
}

TEST_CASE("wall heat: a cylinder at rest still loses some heat", "[models][engine][wall_heat][limit]") {
  CHECK(hohenberg_coefficient(2e-4, 1e5, 300.0, 0.0) > 0.0);
}

TEST_CASE("wall heat: positive and finite over all states of a cylinder",
          "[models][engine][wall_heat][limit]") {
  Random random(16);
  bool sound = true;
  for (int i = 0; i < 3000; ++i) {
    const double h = hohenberg_coefficient(random.over_decades(1e-5, 2e-3), random.over_decades(1e4, 2e7),
                                           random.between(230.0, 3500.0), random.between(0.0, 25.0));
    sound = sound && h > 0.0 && std::isfinite(h);
  }
  CHECK(sound);
}
