#include "models/fuel/jet.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
const double rho = 745.0, nu = 0.55e-6;
const Jet<> main_jet{1.25e-3, 2.5e-3, 0.0, 0.0};
}  // namespace

TEST_CASE("jet: nothing flows without a difference, a bore or a clear way", "[models][fuel][jet][zero]") {
  CHECK(jet_flow(main_jet, 0.0, rho, nu) == 0.0);
  CHECK(jet_loss(main_jet, 0.0, rho, nu) == 0.0);
  CHECK(jet_flow(Jet<>{1.25e-3, 2.5e-3, 1.0, 0.0}, 3000.0, rho, nu) == 0.0);
  CHECK(jet_flow(Jet<>{0.0, 2.5e-3, 0.0, 0.0}, 3000.0, rho, nu) == 0.0);
}

TEST_CASE("jet: blocked share and wear act on the section", "[models][fuel][jet][exact]") {
  CHECK_THAT(jet_area(Jet<>{1e-3, 2e-3, 0.3, 0.0}),
             near(0.7 * jet_area(Jet<>{1e-3, 2e-3, 0.0, 0.0}), round_off(8)));
  CHECK_THAT(jet_diameter(Jet<>{1e-3, 2e-3, 0.0, 0.05e-3}), near(1.05e-3, round_off(2)));
  CHECK(jet_flow(Jet<>{1e-3, 2e-3, 0.1, 0.0}, 3000.0, rho, nu) <
        jet_flow(Jet<>{1e-3, 2e-3, 0.0, 0.0}, 3000.0, rho, nu));
  CHECK(jet_flow(Jet<>{1e-3, 2e-3, 0.0, 1e-5}, 3000.0, rho, nu) >
        jet_flow(Jet<>{1e-3, 2e-3, 0.0, 0.0}, 3000.0, rho, nu));
}

TEST_CASE("jet: flow and loss are odd", "[models][fuel][jet][symmetry]") {
  for (double drop : {1e-3, 1.0, 300.0, 3e4}) {
    CHECK(jet_flow(main_jet, -drop, rho, nu) == -jet_flow(main_jet, drop, rho, nu));
    const double flow = jet_flow(main_jet, drop, rho, nu);
    CHECK(jet_loss(main_jet, -flow, rho, nu) == -jet_loss(main_jet, flow, rho, nu));
  }
}

TEST_CASE("jet: loss is the inverse of flow to 0.1 % over the lengths that jets have",
          "[models][fuel][jet][exact]") {
  const auto claim = absolute_error(1e-3, "stated in the header");
  for (double ratio : {0.5, 1.0, 2.0, 3.0, 5.0, 7.0}) {
    INFO("length over bore " << ratio);
    for (double bore : {0.3e-3, 1.2e-3, 3e-3}) {
      const Jet<> jet{bore, ratio * bore, 0.0, 0.0};
      const auto error = [&](double decade) {
        const double drop = std::pow(10.0, decade);
        return std::abs(jet_loss(jet, jet_flow(jet, drop, rho, nu), rho, nu) / drop - 1.0);
      };
      CHECK_THAT(largest_over(-3.0, 5.0, 400, error), near(0.0, claim));
    }
  }
}

TEST_CASE("jet: the README's flow rating is the bore beside it", "[models][fuel][jet][exact]") {
  CHECK_THAT(bore_from_flow_rating(266e-6 / 60.0, 0.5, main_jet.length, rho, nu),
             near(1.50e-3, relative(5e-3, "printed digits, and a length of its own")));
}

TEST_CASE("jet: laminar at one end, its ultimate coefficient at the other", "[models][fuel][jet][limit]") {
  // Re << 1: Cd = Re / (20 (1 + 2.25 l/d)), flow in proportion to the difference.
  CHECK_THAT(jet_discharge(1e-6, 2.0), near(1e-6 / 110.0, relative(1e-6, "next term, Re/100")));
  CHECK_THAT(jet_flow(main_jet, 2e-6, rho, nu) / jet_flow(main_jet, 1e-6, rho, nu),
             near(2.0, relative(1e-2, "next term and the guard of 1e-9 Pa")));
  CHECK_THAT(jet_discharge(1e9, 2.0), near(ultimate_discharge(2.0), relative(5e-5, "corrections at Re 1e9")));
  CHECK_THAT(ultimate_discharge(2.0), near(0.810, round_off(4)));
  CHECK(ultimate_discharge(1.0) == 0.810);
  CHECK(jump_ratio(1.0, 4.0, 300, [](double l) { return ultimate_discharge(l); }) < smooth_ratio);
}

TEST_CASE("jet: the transition's correction peaks at Re 6667 and is even about it by decades",
          "[models][fuel][jet][exact]") {
  const double peak = 1.0 / 0.00015;
  CHECK_THAT(transition_correction(peak, 4.0), near(0.005 * 4.0, round_off(64)));
  for (double decades : {0.2, 1.0}) {
    const double factor = std::pow(10.0, decades), expected = 0.02 / (1.0 + 7.5 * decades * decades);
    const auto guard = relative(1e-9, "guard against Re 0");
    CHECK_THAT(transition_correction(peak * factor, 4.0), near(expected, guard));
    CHECK_THAT(transition_correction(peak / factor, 4.0), near(expected, guard));
  }
}

TEST_CASE("jet: flow rises with difference, density and bore, falls with viscosity and length",
          "[models][fuel][jet][limit]") {
  CHECK(never_falls(-5000.0, 5000.0, 4000, [](double dp) { return jet_flow(main_jet, dp, rho, nu); }));
  CHECK(
      never_falls(-6.0, 5.0, 2000, [](double e) { return jet_flow(main_jet, std::pow(10.0, e), rho, nu); }));
  CHECK(never_falls(600.0, 900.0, 100, [](double r) { return jet_flow(main_jet, 2000.0, r, nu); }));
  CHECK(never_rises(0.3e-6, 3e-6, 100, [](double n) { return jet_flow(main_jet, 2000.0, rho, n); }));
  CHECK(never_falls(0.2e-3, 3e-3, 300, [](double d) {
    return jet_flow(Jet<>{d, 2.5e-3, 0, 0}, 2000.0, rho, nu);
  }));
  CHECK(never_rises(2.5e-3, 12e-3, 300, [](double l) {
    return jet_flow(Jet<>{1.2e-3, l, 0, 0}, 2000.0, rho, nu);
  }));
}

TEST_CASE("jet: flow and loss pass zero without jump and never fall", "[models][fuel][jet][continuity]") {
  CHECK(jump_ratio(-1.0, 1.0, 500, [](double dp) { return jet_flow(main_jet, dp, rho, nu); }) < smooth_ratio);
  const auto loss = [](double q) { return jet_loss(main_jet, q, rho, nu); };
  CHECK(jump_ratio(-1e-4, 1e-4, 500, loss) < smooth_ratio);
  CHECK(never_falls(-1e-3, 1e-3, 2000, loss));
  CHECK(never_falls(-1e-9, 1e-9, 2000, loss));
}

TEST_CASE("jet: a flow rating returns the bore that was rated", "[models][fuel][jet][exact]") {
  for (double bore : {0.35e-3, 0.8e-3, 1.25e-3, 2.2e-3}) {
    const double head = 0.5, length = 2e-3;
    const double mass_flow = jet_flow(Jet<>{bore, length, 0, 0}, rho * constants::g0 * head, rho, nu);
    CHECK_THAT(bore_from_flow_rating(mass_flow / rho, head, length, rho, nu), near(bore, round_off(64)));
  }
}

TEST_CASE("jet: finite, forward and with a coefficient below 1 over all legal sizes",
          "[models][fuel][jet][limit]") {
  Random random(6);
  bool sound = true;
  for (int i = 0; i < 5000; ++i) {
    const double bore = random.over_decades(0.2e-3, 4e-3);
    const Jet<> jet{bore, random.between(0.5, 8.0) * bore, random.between(0.0, 0.9),
                    random.between(0.0, 1e-4)};
    const double drop = random.over_decades(1e-6, 1e5);
    const double density = random.between(600.0, 900.0), viscosity = random.over_decades(0.2e-6, 5e-6);
    const double flow = jet_flow(jet, drop, density, viscosity);
    const double loss = jet_loss(jet, flow, density, viscosity);
    sound = sound && flow > 0.0 && flow < jet_area(jet) * std::sqrt(2.0 * density * drop) && loss > 0.0 &&
            std::isfinite(loss);
  }
  CHECK(sound);
}

TEST_CASE("jet: units agree", "[models][fuel][jet][units]") {
  using namespace units;
  const Jet<Dimensioned> jet{1.25e-3 * metre, 2.5e-3 * metre, 0.1 * one, 1e-5 * metre};
  const auto flow = jet_flow(jet, 2000.0 * pascal, rho * density, nu * kinematic_viscosity);
  CHECK(jet_area(jet).dimension() == square_metre);
  CHECK(flow.dimension() == mass_flow);
  CHECK(jet_loss(jet, flow, rho * density, nu * kinematic_viscosity).dimension() == pascal);
}
