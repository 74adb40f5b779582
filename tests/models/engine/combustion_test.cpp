#include "models/engine/combustion.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

TEST_CASE("combustion: burning by the hazard gives the Wiebe function",
          "[models][engine][combustion][exact]") {
  // d(1-x)/ds = -hazard (1-x): the integral of the hazard is -ln(1-x).
  const int n = 1300;
  double integral = 0.0;
  const double h = 1.3 / n;
  for (int i = 0; i < n; ++i) {
    const double s = i * h;
    // Simpson, exact for a parabola.
    integral += h / 6.0 * (wiebe_hazard(s) + 4.0 * wiebe_hazard(s + 0.5 * h) + wiebe_hazard(s + h));
    if (i % 100 == 99)
      CHECK_THAT(1.0 - std::exp(-integral),
                 near(wiebe_fraction(s + h), absolute_error(5e-12, "error stated for the exponential")));
  }
}

TEST_CASE("combustion: nothing burns before the start or after all but 5e-6 has burned",
          "[models][engine][combustion][limit]") {
  CHECK(wiebe_fraction(-1.0) == 0.0);
  CHECK(wiebe_fraction(0.0) == 0.0);
  CHECK(wiebe_hazard(-0.5) == 0.0);
  CHECK(wiebe_hazard(0.0) == 0.0);
  CHECK(wiebe_hazard(1.35) == 0.0);
  CHECK(1.0 - wiebe_fraction(1.35) < 5e-6);
  CHECK(never_falls(-0.5, 2.0, 1000, [](double s) { return wiebe_fraction(s); }));
  CHECK(kink_ratio(-0.5, 1.3, 500, [](double s) { return wiebe_fraction(s); }) < smooth_ratio);
  CHECK(jump_ratio(-0.5, 1.3, 500, [](double s) { return wiebe_hazard(s); }) < smooth_ratio);
}

TEST_CASE("combustion: burn is quickest a little rich and lasts longer either side",
          "[models][engine][combustion][limit]") {
  const auto f = [](double lambda) { return duration_factor(lambda); };
  CHECK_THAT(f(1.0), near(1.0, round_off(8, 4.0)));
  CHECK(never_rises(0.5, 0.85, 200, f));
  CHECK(never_falls(0.85, 1.8, 200, f));
  CHECK(f(0.1) == f(0.5));
  CHECK(f(5.0) == f(1.8));
  CHECK(f(0.85) > 0.0);
}

TEST_CASE("combustion: a lean charge burns its fuel, a rich one its air, scatter costs at stoichiometry",
          "[models][engine][combustion][limit]") {
  const double s = 14.6, m_air = 3e-4, sigma = 0.09, w = 0.5513 * sigma;
  CHECK(burnable_fuel(0.0, m_air, s, sigma) == 0.0);
  CHECK(burnable_fuel(2e-5, 0.0, s, sigma) == 0.0);
  const double lean = 0.5 * m_air / s;
  CHECK_THAT(burnable_fuel(lean, m_air, s, sigma), near(lean, relative(1e-8, "exp(-20) of scatter")));
  const double rich = 3.0 * m_air / s;
  CHECK_THAT(burnable_fuel(rich, m_air, s, sigma), near(m_air / s, relative(1e-6, "exp(-13) of scatter")));
  CHECK_THAT(burnable_fuel(m_air / s, m_air, s, sigma),
             near((1.0 - w * std::log(2.0)) * m_air / s, relative(1e-6, "guard against no fuel")));
  CHECK_THAT(burnable_fuel(m_air / s, m_air, s, 1e-9), near(m_air / s, relative(1e-8, "scatter of 1e-9")));
}

TEST_CASE("combustion: more fuel in the same air never burns much less, never more than there is of either",
          "[models][engine][combustion][limit]") {
  const double s = 14.6, m_air = 3e-4;
  const auto burnt = [&](double phi) { return burnable_fuel(phi * m_air / s, m_air, s, 0.09) * s / m_air; };
  CHECK(never_falls(0.0, 1.3, 1300, burnt));
  CHECK(jump_ratio(0.0, 3.0, 500, burnt) < smooth_ratio);
  CHECK(largest_over(0.0, 5.0, 1000, [&](double phi) { return burnt(phi) - std::min(phi, 1.0); }) <= 1e-15);
}

TEST_CASE("combustion: half the charge lights at either limit, all of it between",
          "[models][engine][combustion][exact]") {
  const Combustion<> c;
  CHECK_THAT(ignited_share(c, c.lean_limit, 0.0), near(0.5, round_off(64)));
  CHECK_THAT(ignited_share(c, c.rich_limit, 0.0), near(0.5, round_off(64)));
  CHECK(ignited_share(c, 1.0, 0.05) == 1.0);
  CHECK(ignited_share(c, c.lean_limit + 2.0 * c.limit_width, 0.0) == 0.0);
  CHECK(ignited_share(c, c.rich_limit - 2.0 * c.limit_width, 0.0) == 0.0);
  const auto share = [&](double lambda) { return ignited_share(c, lambda, 0.0); };
  CHECK(kink_ratio(1.35, 1.55, 500, share) < smooth_ratio);
  CHECK(never_rises(1.0, 2.0, 1000, share));
  CHECK(never_falls(0.2, 1.0, 1000, share));
}

TEST_CASE("combustion: residual gas and a weak spark each narrow what lights",
          "[models][engine][combustion][limit]") {
  const Combustion<> c;
  CHECK(ignited_share(c, 1.43, 0.10) == ignited_share(c, 1.43, 0.0));
  CHECK_THAT(ignited_share(c, c.lean_limit - 0.1 * c.lean_limit_residual, 0.2), near(0.5, round_off(64)));
  Combustion<> weak = c;
  weak.weak_spark = 0.5;
  CHECK_THAT(ignited_share(weak, 0.5 * (c.lean_limit + 0.95 - c.limit_width), 0.0), near(0.5, round_off(64)));
  CHECK_THAT(ignited_share(weak, 0.5 * (c.rich_limit + 0.95 + c.limit_width), 0.0), near(0.5, round_off(64)));
}

TEST_CASE("combustion: a dead spark lights nothing", "[models][engine][combustion][limit]") {
  Combustion<> dead;
  dead.weak_spark = 1.0;
  for (double lambda = 0.3; lambda < 2.0; lambda += 0.001) CHECK(ignited_share(dead, lambda, 0.05) == 0.0);
}

TEST_CASE("combustion: sound numbers over all charges", "[models][engine][combustion][limit]") {
  Random random(13);
  bool sound = true;
  const Combustion<> c;
  for (int i = 0; i < 5000; ++i) {
    const double m_air = random.over_decades(1e-8, 1e-3), fuel = random.over_decades(1e-10, 1e-3);
    const double burnt = burnable_fuel(fuel, m_air, random.between(6.0, 15.0), random.between(0.0, 0.3));
    const double share = ignited_share(c, random.over_decades(0.01, 100.0), random.between(0.0, 1.0));
    sound = sound && burnt >= 0.0 && burnt <= fuel * (1.0 + 1e-12) && share >= 0.0 && share <= 1.0;
  }
  CHECK(sound);
}

TEST_CASE("combustion: units agree", "[models][engine][combustion][units]") {
  using namespace units;
  const auto burnt = burnable_fuel(2e-5 * kilogram, 3e-4 * kilogram, 14.6 * one, 0.09 * one);
  CHECK(burnt.dimension() == kilogram);
}
