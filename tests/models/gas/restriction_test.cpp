#include "models/gas/restriction.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
const double rho = 1.15, area = 1e-4, inertance = 250.0, response = 40e-6;
}

TEST_CASE("restriction: at rest without a drive nothing moves", "[models][gas][restriction][zero]") {
  CHECK(restriction_rate(0.0, 0.0, 1.0 / rho, 1.0 / rho, area, inertance, response) == 0.0);
  CHECK(restriction_rate(5000.0, 0.0, 1.0 / rho, 1.0 / rho, 0.0, inertance, response) == 0.0);
}

TEST_CASE("restriction: steady flow is the orifice law, choked or not", "[models][gas][restriction][exact]") {
  const GasFlow gas(1.4);
  for (double p_down : {9.9e4, 8e4, 5e4, 2e4}) {
    const double drive = driving_pressure(gas, 1e5, p_down);
    const double flow = orifice_flow(gas, area, 1e5, rho, p_down, rho, 0.0);
    const double kick = restriction_rate(drive, 0.0, 1.0 / rho, 1.0 / rho, area, inertance, response);
    CHECK_THAT(restriction_rate(drive, flow, 1.0 / rho, 1.0 / rho, area, inertance, response),
               near(0.0, round_off(16, kick)));
  }
}

TEST_CASE("restriction: from rest inertia holds the flow back, a narrow passage its response time",
          "[models][gas][restriction][limit]") {
  const auto guard = relative(1e-12, "guard against an area of zero");
  CHECK_THAT(restriction_rate(300.0, 0.0, 1.0 / rho, 1.0 / rho, area, inertance, 0.0),
             near(300.0 / inertance, guard));
  CHECK_THAT(restriction_rate(300.0, 0.0, 1.0 / rho, 1.0 / rho, 10.0, inertance, response),
             near(300.0 / inertance, relative(1e-5, "response over 10 m²")));
  // Without inertia the steady flow would be reached in twice the response time at the first rate.
  const double steady = area * std::sqrt(2.0 * rho * 300.0);
  CHECK_THAT(restriction_rate(300.0, 0.0, 1.0 / rho, 1.0 / rho, area, 0.0, response),
             near(steady / (2.0 * response), relative(1e-10, "guard against an area of zero")));
}

TEST_CASE("restriction: a shut passage dies out over twice its response time",
          "[models][gas][restriction][limit]") {
  for (double flow : {1e-2, -1e-2, 1e-5}) {
    CHECK_THAT(restriction_rate(1e5, flow, 1.0 / rho, 1.0 / rho, 0.0, inertance, response),
               near(-flow / (2.0 * response), relative(1e-8, "guard against zero flow")));
  }
  // The same flow results when the area shrinks toward zero.
  CHECK_THAT(restriction_rate(1e4, 1e-3, 1.0 / rho, 1.0 / rho, 1e-9, inertance, response),
             near(-1e-3 / (2.0 * response), relative(1e-3, "area left")));
}

TEST_CASE("restriction: no response time, no help", "[models][gas][restriction][limit]") {
  const double drive = 2000.0, flow = 3e-3;
  const double loss = 0.5 * flow * flow / (rho * area * area);
  CHECK_THAT(restriction_rate(drive, flow, 1.0 / rho, 1.0 / rho, area, inertance, 0.0),
             near((drive - loss) / inertance, relative(1e-12, "guard against an area of zero")));
}

TEST_CASE("restriction: reversed drive and flow reverse the rate", "[models][gas][restriction][symmetry]") {
  Random random(3);
  for (int i = 0; i < 50; ++i) {
    const double drive = random.sign() * random.over_decades(1.0, 1e5);
    const double flow = random.sign() * random.over_decades(1e-7, 0.1);
    CHECK(restriction_rate(-drive, -flow, 1.0 / rho, 1.0 / rho, area, inertance, response) ==
          -restriction_rate(drive, flow, 1.0 / rho, 1.0 / rho, area, inertance, response));
  }
}

TEST_CASE("restriction: continuous through zero flow, falling with flow",
          "[models][gas][restriction][continuity]") {
  const auto rate = [](double flow) {
    return restriction_rate(500.0, flow, 1.0 / rho, 1.0 / rho, area, inertance, response);
  };
  const auto from_thin_gas = [](double flow) {  // hot gas is drawn back where the flow turns round
    return restriction_rate(500.0, flow, (flow < 0.0 ? 4.0 : 1.0) / rho, 1.0 / rho, area, inertance,
                            response);
  };
  CHECK(jump_ratio(-1e-3, 1e-3, 500, rate) < smooth_ratio);
  CHECK(jump_ratio(-1e-3, 1e-3, 500, from_thin_gas) < smooth_ratio);
  CHECK(never_rises(0.0, 2e-2, 500, rate, 1e-12));
}

TEST_CASE("restriction: finite over all legal sizes", "[models][gas][restriction][limit]") {
  Random random(4);
  bool sound = true;
  for (int i = 0; i < 5000; ++i) {
    const double flow = random.sign() * random.over_decades(1e-12, 1.0);
    const double rate =
        restriction_rate(random.sign() * random.over_decades(1e-3, 1e7), flow,
                         random.over_decades(0.02, 60.0), random.over_decades(0.02, 60.0),
                         random.over_decades(1e-12, 1e-2), random.over_decades(1.0, 1e5), response);
    sound = sound && std::isfinite(rate);
  }
  CHECK(sound);
}

TEST_CASE("restriction: units agree", "[models][gas][restriction][units]") {
  using namespace units;
  const auto rate =
      restriction_rate(100.0 * pascal, 1e-3 * mass_flow, 1.0 / (rho * density), 1.0 / (rho * density),
                       area * square_metre, inertance * (one / metre), response * second);
  CHECK(rate.dimension() == mass_flow / second);
}
