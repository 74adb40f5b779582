#include "models/fuel/liquid_column.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

TEST_CASE("liquid column: rate is net pressure over inertance, slowed by stiffness alone",
          "[models][fuel][liquid_column][limit]") {
  CHECK(column_rate(0.0, 1e4, 1e6, 1e-4) == 0.0);
  CHECK(column_rate(500.0, 1e4, 1e6, 0.0) == 500.0 / 1e4);
  CHECK(column_rate(500.0, 1e4, 0.0, 1e-4) == 500.0 / 1e4);
  CHECK(column_rate(-500.0, 1e4, 1e6, 1e-4) == -column_rate(500.0, 1e4, 1e6, 1e-4));
  // A stiff passage whose loss is off by slope times excess returns within the response time.
  const double excess = 1e-4, slope = 1e9, response = 1e-4;
  CHECK_THAT(column_rate(-slope * excess, 1e4, slope, response),
             near(-excess / response, relative(0.1, "inertance over response times slope")));
}

TEST_CASE("liquid column: a mouth is wet from 2 mm on, dry without liquid, and never divides by zero",
          "[models][fuel][liquid_column][limit]") {
  CHECK_THAT(wetted_share(2e-3), near(1.0, absolute_error(1e-11, "floor of 1e-12")));
  CHECK_THAT(wetted_share(1.0), near(1.0, absolute_error(1e-11, "floor of 1e-12")));
  CHECK_THAT(wetted_share(1e-3), near(0.5, absolute_error(1e-11, "floor of 1e-12")));
  CHECK(wetted_share(0.0) > 0.0);
  CHECK(wetted_share(-1.0) > 0.0);
  CHECK(wetted_share(-1.0) <= 1e-12);  // an empty well gives nothing off
  CHECK(never_falls(-1e-3, 3e-3, 500, [](double d) { return wetted_share(d); }));
  CHECK(kink_ratio(-1e-3, 3e-3, 500, [](double d) { return wetted_share(d); }) < smooth_ratio);
}

TEST_CASE("liquid column: full it hands on what enters, low it gives nothing, above it spills",
          "[models][fuel][liquid_column][limit]") {
  const double full = 3e-4, transit = 4e-3, inflow = 1e-3;
  const auto smoothing = absolute_error(1e-11, "rounding over 1e-7 kg/s");
  CHECK_THAT(column_outflow(inflow, full, full, transit), near(inflow, smoothing));
  CHECK_THAT(column_outflow(inflow, full + 1e-6, full, transit), near(inflow + 1e-6 / transit, smoothing));
  CHECK_THAT(column_outflow(inflow, 0.5 * full, full, transit), near(0.0, smoothing));
  CHECK_THAT(column_outflow(-inflow, full, full, transit), near(0.0, smoothing));
  const auto outflow = [&](double held) { return column_outflow(inflow, held, full, transit); };
  CHECK(never_falls(0.0, 2.0 * full, 2000, outflow, 1e-18));
  CHECK(largest_over(0.0, 2.0 * full, 2000, [&](double held) { return -outflow(held); }) <= 0.0);
}

TEST_CASE("liquid column: an empty passage fills first and then delivers",
          "[models][fuel][liquid_column][balance]") {
  const double full = 3e-4, transit = 4e-3, inflow = 1e-3, dt = 1e-5;
  double held = 0.0, delivered = 0.0, first = -1.0;
  for (int i = 0; i < 50000; ++i) {
    const double out = column_outflow(inflow, held, full, transit);
    if (first < 0.0 && out > 0.5 * inflow) first = i * dt;
    held += dt * (inflow - out);
    delivered += dt * out;
  }
  CHECK_THAT(held + delivered, near(inflow * 50000 * dt, round_off(50000)));
  CHECK_THAT(held, near(full, relative(1e-6, "rounding over 1e-7 kg/s")));
  // The surface reaches the outlet's zone when one transit of inflow is missing.
  CHECK_THAT(first, near((full - inflow * transit) / inflow + transit * std::log(2.0),
                         absolute_error(1e-4, "steps of 10 µs")));
}

TEST_CASE("liquid column: units agree", "[models][fuel][liquid_column][units]") {
  using namespace units;
  const auto rate =
      column_rate(500.0 * pascal, 1e4 * (one / metre), 1e6 * (pascal / mass_flow), 1e-4 * second);
  CHECK(rate.dimension() == mass_flow / second);
  CHECK(column_outflow(1e-3 * mass_flow, 1e-4 * kilogram, 3e-4 * kilogram, 4e-3 * second).dimension() ==
        mass_flow);
}
