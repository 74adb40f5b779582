#include "models/gas/flow_function.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {

/// D(z) = γ/(γ-1) (r^(2/γ) - r^((γ+1)/γ)), r = 1 - z, in a form that does not cancel at small z.
double closed_form(double gamma, double z) {
  const double log_r = std::log1p(-z);
  return -gamma / (gamma - 1.0) * std::exp(2.0 / gamma * log_r) * std::expm1((gamma - 1.0) / gamma * log_r);
}

const double gammas[] = {1.2, 1.25, 1.3, 1.35, 1.4, 1.5, 1.6, 1.67};

}  // namespace

TEST_CASE("flow function: the polynomial is the closed form to 1e-10 over all gases and ratios",
          "[models][gas][flow_function][exact]") {
  for (double gamma : gammas) {
    INFO("gamma " << gamma);
    const FlowFunction D(gamma);
    CHECK_THAT(D.z_critical(),
               near(1.0 - std::pow(2.0 / (gamma + 1.0), gamma / (gamma - 1.0)), round_off(16)));
    const auto error = [&](double z) { return z > 0.0 ? std::abs(D(z) / closed_form(gamma, z) - 1.0) : 0.0; };
    const auto claim = absolute_error(1e-10, "stated in the header");
    CHECK_THAT(largest_over(0.0, D.z_critical(), 2000, error), near(0.0, claim));
    CHECK_THAT(largest_over(0.0, 1e-5, 50, error), near(0.0, claim));
  }
}

TEST_CASE("flow function: greatest and level at the critical ratio, held beyond",
          "[models][gas][flow_function][continuity]") {
  for (double gamma : gammas) {
    const FlowFunction D(gamma);
    const double critical = D.z_critical();
    CHECK(D(0.0) == 0.0);
    CHECK(D(0.99) == D(critical));
    CHECK(never_falls(0.0, 1.0, 2000, D, 1e-12));
    // The closed form's slope is zero there, so holding it leaves no kink.
    CHECK(kink_ratio(critical - 0.1, critical + 0.1, 200, D) < smooth_ratio);
    CHECK_THAT(D(1e-7) / 1e-7, near(1.0, relative(2e-7, "D = z + O(z²)")));
    // A compressible fluid never needs less than the same drop of an incompressible one.
    CHECK(largest_over(0.01, 1.0, 500, [&](double z) { return D(z) - z; }) < 0.0);
  }
}

TEST_CASE("flow function: drive and orifice are odd when the sides are exchanged",
          "[models][gas][flow_function][symmetry]") {
  const GasFlow gas(1.35);
  Random random(2);
  for (int i = 0; i < 50; ++i) {
    const double p_a = random.between(2e4, 2e5), p_b = random.between(2e4, 2e5);
    const double rho_a = random.between(0.3, 3.0), rho_b = random.between(0.3, 3.0);
    CHECK(driving_pressure(gas, p_a, p_b) == -driving_pressure(gas, p_b, p_a));
    CHECK(orifice_flow(gas, 1e-4, p_a, rho_a, p_b, rho_b, 20.0) ==
          -orifice_flow(gas, 1e-4, p_b, rho_b, p_a, rho_a, 20.0));
  }
}

TEST_CASE("flow function: nothing flows without area or without a difference",
          "[models][gas][flow_function][zero]") {
  const GasFlow gas(1.4);
  CHECK(driving_pressure(gas, 1e5, 1e5) == 0.0);
  CHECK(orifice_flow(gas, 1e-4, 1e5, 1.2, 1e5, 0.9, 20.0) == 0.0);
  CHECK(orifice_flow(gas, 0.0, 1e5, 1.2, 5e4, 0.6, 20.0) == 0.0);
}

TEST_CASE("flow function: orifice flow is continuous through reversal and choking",
          "[models][gas][flow_function][continuity]") {
  const GasFlow gas(1.4);
  const auto flow = [&](double p_b) { return orifice_flow(gas, 1e-4, 1e5, 1.2, p_b, 0.7, 20.0); };
  CHECK(jump_ratio(1e5 - 200.0, 1e5 + 200.0, 1000, flow) < smooth_ratio);
  CHECK(kink_ratio(1e5 * 0.45, 1e5 * 0.60, 200, flow) < smooth_ratio);
  CHECK(never_rises(1e4, 1.6e5, 2000, flow, 1e-15));
  CHECK(flow(1e4) == flow(4e4));  // choked
}

TEST_CASE("flow function: a small drop is Bernoulli's law", "[models][gas][flow_function][limit]") {
  const GasFlow gas(1.4);
  const double p = 1e5, drop = 100.0, rho = 1.2, area = 2e-4;
  CHECK_THAT(orifice_flow(gas, area, p, rho, p - drop, rho, 1e-6),
             near(area * std::sqrt(2.0 * rho * drop), relative(1e-3, "drop over pressure")));
  // The density is that of the side the flow comes from.
  CHECK(orifice_flow(gas, area, p, rho, p - drop, 0.5, 1e-6) ==
        orifice_flow(gas, area, p, rho, p - drop, 2.0, 1e-6));
}

TEST_CASE("flow function: units agree", "[models][gas][flow_function][units]") {
  using namespace units;
  const GasFlow gas(1.4);
  const Dimensioned p_a = 1e5 * pascal, p_b = 9e4 * pascal, rho = 1.2 * density;
  CHECK(driving_pressure(gas, p_a, p_b).dimension() == pascal);
  const auto flow = orifice_flow(gas, 1e-4 * square_metre, p_a, rho, p_b, rho, 20.0 * pascal);
  CHECK(flow.dimension() == mass_flow);
  CHECK(flow.value() == orifice_flow(gas, 1e-4, 1e5, 1.2, 9e4, 1.2, 20.0));
}
