#include "models/throat/venturi.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {

/// ṁ²/(2 ρ0 A² p0) of isentropic flow of air at a throat Mach number, from mass and energy alone.
double flow_number(double mach) {
  const double T = 1.0 / (1.0 + 0.2 * mach * mach);  // over stagnation
  const double rho = std::pow(T, 2.5);
  return 0.5 * rho * rho * mach * mach * 1.4 * T;  // speed² = M² γ p0/ρ0 T
}
double depression(double mach) {
  return -std::expm1(-3.5 * std::log1p(0.2 * mach * mach));
}
double model(double x) {
  return throat_depression(std::sqrt(2.0 * x), 1.0, 1.0, 1.0);
}

}  // namespace

TEST_CASE("venturi: within 1 % of isentropic flow up to Mach 0.6", "[models][throat][venturi][exact]") {
  const auto error = [](double mach) {
    return mach > 0.0 ? std::abs(model(flow_number(mach)) / depression(mach) - 1.0) : 0.0;
  };
  CHECK_THAT(largest_over(0.0, 0.6, 600, error), near(0.0, absolute_error(0.01, "stated in the header")));
  // The law is cut at its third order: a tenth of the Mach number leaves 1e-9.
  CHECK_THAT(largest_over(0.0, 0.1, 100, error),
             near(0.0, absolute_error(1e-8, "third order of the flow number, 0.007³ / 50")));
}

TEST_CASE("venturi: still air gives no depression, either direction gives the same",
          "[models][throat][venturi][symmetry]") {
  CHECK(throat_depression(0.0, 1.2, 1e5, 5e-4) == 0.0);
  for (double flow : {1e-4, 5e-3, 0.05})
    CHECK(throat_depression(-flow, 1.2, 1e5, 5e-4) == throat_depression(flow, 1.2, 1e5, 5e-4));
}

TEST_CASE("venturi: slow air is Bernoulli's law", "[models][throat][venturi][limit]") {
  const double rho = 1.2, area = 5e-4, speed = 5.0;
  CHECK_THAT(throat_depression(rho * area * speed, rho, 1e5, area),
             near(0.5 * rho * speed * speed, relative(2e-4, "Mach number squared")));
}

TEST_CASE("venturi: deepens with flow, without a jump where the law is continued by a line",
          "[models][throat][venturi][continuity]") {
  CHECK(never_falls(0.0, 2.0, 4000, model));
  CHECK(jump_ratio(0.19, 0.21, 200, model) < smooth_ratio);
  const auto reversal = [](double flow) { return throat_depression(flow, 1.2, 1e5, 5e-4); };
  CHECK(kink_ratio(-0.01, 0.01, 200, reversal) < smooth_ratio);
}

TEST_CASE("venturi: finite and not negative over all legal flows", "[models][throat][venturi][limit]") {
  Random random(11);
  bool sound = true;
  for (int i = 0; i < 3000; ++i) {
    const double dp =
        throat_depression(random.sign() * random.over_decades(1e-8, 1.0), random.between(0.4, 3.0),
                          random.between(3e4, 2e5), random.over_decades(1e-5, 5e-3));
    sound = sound && dp >= 0.0 && std::isfinite(dp);
  }
  CHECK(sound);
}

TEST_CASE("venturi: units agree", "[models][throat][venturi][units]") {
  using namespace units;
  CHECK(throat_depression(0.02 * mass_flow, 1.2 * density, 1e5 * pascal, 5e-4 * square_metre).dimension() ==
        pascal);
}
