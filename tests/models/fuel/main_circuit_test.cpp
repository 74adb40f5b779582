#include "models/fuel/main_circuit.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <functional>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {

using State = MainCircuitState<double>;
using Boundary = MainCircuitBoundary<double>;

const double rho = 745.0, p_air = 101325.0, level = -0.004, response = 1e-4;

MainCircuit<> circuit() {
  MainCircuit<> c;
  c.tube.rows = {{-0.010, 0.8e-3, 2.0}, {-0.015, 0.8e-3, 2.0}, {-0.020, 0.8e-3, 4.0}};
  return c;
}
Boundary boundary(double depression) {
  const double nozzle = 0.8 * 0.25 * constants::pi * 3e-3 * 3e-3;
  return {p_air, level, p_air, p_air - depression, nozzle, 0.0, rho, 0.55e-6, 0.021, 1.2, response};
}

/// Classical fourth order steps of 20 µs.
struct March {
  MainCircuit<> c;
  Boundary b;
  State s;

  State rate(const State& at) const { return evaluate_main_circuit(c, at, b).rate; }
  static State moved(const State& s, const State& r, double h) {
    return {s.jet_flow + h * r.jet_flow, s.well + h * r.well, s.bleed_flow + h * r.bleed_flow,
            s.riser_flow + h * r.riser_flow, s.riser + h * r.riser};
  }
  /// Mean delivery [kg/s] over the last half.
  double run(double time) {
    const double h = 2e-5;
    const int n = static_cast<int>(time / h);
    double delivered = 0.0;
    for (int i = 0; i < n; ++i) {
      const State k1 = rate(s), k2 = rate(moved(s, k1, 0.5 * h)), k3 = rate(moved(s, k2, 0.5 * h)),
                  k4 = rate(moved(s, k3, h));
      s = moved(moved(moved(moved(s, k1, h / 6.0), k2, h / 3.0), k3, h / 3.0), k4, h / 6.0);
      if (2 * i >= n) delivered += evaluate_main_circuit(c, s, b).nozzle_fuel / (n - n / 2);
    }
    return delivered;
  }
};

double delivery(const MainCircuit<>& c, const Boundary& b, double time = 1.5) {
  return March{c, b, main_circuit_at_rest(c, level, rho)}.run(time);
}

State random_state(Random& random) {
  return {random.sign() * random.over_decades(1e-9, 1e-2), random.over_decades(1e-8, 2e-3),
          random.sign() * random.over_decades(1e-11, 1e-4), random.sign() * random.over_decades(1e-9, 1e-2),
          random.over_decades(1e-8, 5e-4)};
}

/// A steady circuit whose tube has no open hole, worked out from the series network by nested bisection.
struct DrawnToFoot {
  MainCircuit<> c;
  Boundary b;
  double fuel = 0.0, air = 0.0, column = 0.0;

  static double root(double low, double high, const std::function<double(double)>& rising) {
    for (int i = 0; i < 80; ++i) {
      const double x = 0.5 * (low + high);
      (rising(x) < 0.0 ? low : high) = x;
    }
    return 0.5 * (low + high);
  }
  double wet() const { return smooth_step(column * 500.0); }
  /// Weight of what the riser holds and momentum through the nozzle, at the riser's foot [Pa].
  double foot_of_riser() const {
    const double A_r = riser_area(c), H = c.lip - c.foot;
    const double rho_g = b.air_density * b.nozzle_pressure / b.air_pressure;
    const double alpha = drift_flux_void(air / (rho_g * A_r), fuel / (rho * A_r), c.riser_diameter);
    const double slip = std::pow(rho / rho_g, 0.25);
    return b.nozzle_pressure + 4.0 * b.surface_tension / c.nozzle_diameter +
           rho * constants::g0 * H * (1.0 - alpha) +
           (fuel + slip * air) * (fuel / rho + air / (slip * rho_g)) / (2.0 * b.nozzle_area * b.nozzle_area);
  }
  double mouth_loss() const { return 0.5 / rho * std::pow(fuel / (0.6 * riser_area(c) * wet()), 2); }
  /// Drop of the bleed air's path less what its mouth holds back [Pa].
  double bleed_drop() const {
    const double H = c.lip - c.foot, foot = foot_of_riser();
    const double A_r = riser_area(c), rho_g = b.air_density * b.nozzle_pressure / b.air_pressure;
    const double alpha = drift_flux_void(air / (rho_g * A_r), fuel / (rho * A_r), c.riser_diameter);
    const double at_column = foot - rho * constants::g0 * (1.0 - alpha) * std::min(column, H);
    return after_capillarity(b.air_pressure - at_column, 4.0 * b.surface_tension / c.riser_diameter);
  }
  double mouth() const { return 0.6 * riser_area(c) * (1.0 - wet()); }
  double air_jet() const { return c.air_jet_discharge * jet_area(c.air_jet); }
  /// Share of the drop that falls beyond the air jet.
  double at_mouth() const { return mouth() * mouth() / (mouth() * mouth() + air_jet() * air_jet()); }
  void balance_fuel() {
    const double head = b.bowl_pressure + rho * constants::g0 * (b.bowl_level - c.foot);
    fuel = root(0.0, 1e-2, [&](double q) {
      fuel = q;
      return jet_loss(c.main_jet, q, rho, b.fuel_viscosity) + mouth_loss() + foot_of_riser() - head;
    });
  }
  void solve() {
    column = root(1e-6, 2e-3 - 1e-6, [&](double x) {
      column = x;
      air = root(0.0, 1e-3, [&](double w) {
        air = w;
        balance_fuel();
        return 0.5 * w * std::abs(w) / b.air_density - bleed_drop() * std::pow(air_jet(), 2) * at_mouth();
      });
      balance_fuel();
      // More in the well: less air, so less of the drop at the mouth, and an easier way for the fuel.
      return b.air_pressure - bleed_drop() * at_mouth() + rho * constants::g0 * column -
             (foot_of_riser() + mouth_loss());
    });
  }
};

MainCircuit<> without_holes() {
  auto c = circuit();
  c.tube.plugged = 1.0;
  return c;
}

}  // namespace

TEST_CASE("main circuit: filled to the bowl's level it is at rest", "[models][fuel][main_circuit][zero]") {
  const auto c = circuit();
  Boundary b = boundary(0.0);
  b.surface_tension = 0.0;
  const State rest = main_circuit_at_rest(c, level, rho);
  CHECK_THAT(rest.well, near(rho * well_area(c) * (level - c.foot), round_off(4)));
  CHECK_THAT(rest.riser, near(rho * riser_area(c) * (level - c.foot), round_off(4)));
  const auto f = evaluate_main_circuit(c, rest, b);
  const auto rounding = round_off(16, p_air / 2e3);  // pressures of 1 bar over inertances of 2000 1/m
  CHECK_THAT(f.rate.jet_flow, near(0.0, rounding));
  CHECK_THAT(f.rate.riser_flow, near(0.0, rounding));
  CHECK(f.rate.bleed_flow == 0.0);
  CHECK_THAT(f.nozzle_fuel, near(0.0, absolute_error(1e-10, "outflow rounded over 1e-7 kg/s")));
  CHECK_THAT(f.well_level, near(level, round_off(8, 0.03)));
  CHECK(f.uncovered == 0.0);
  CHECK(f.void_fraction == 0.0);
}

TEST_CASE("main circuit: what the jet gives is delivered, drawn off or stored",
          "[models][fuel][main_circuit][balance]") {
  const auto c = circuit();
  Random random(19);
  double worst = 0.0;
  for (int i = 0; i < 3000; ++i) {
    const State s = random_state(random);
    Boundary b = boundary(random.between(-3000.0, 20000.0));
    b.slow_draw = random.between(-1e-5, 1e-4);
    const auto f = evaluate_main_circuit(c, s, b);
    const double left = f.rate.well + f.rate.riser - (s.jet_flow - f.nozzle_fuel - b.slow_draw);
    worst = std::max(worst,
                     std::abs(left) / (std::abs(s.jet_flow) + std::abs(s.riser_flow) + f.nozzle_fuel + 1e-4));
  }
  CHECK_THAT(worst, near(0.0, round_off(8, 1.0)));
}

TEST_CASE("main circuit: settles without delivering until the depression lifts fuel to the lip and off it",
          "[models][fuel][main_circuit][limit]") {
  const auto c = circuit();
  const double lip = 4.0 * 0.021 / c.nozzle_diameter;
  const double onset = rho * constants::g0 * (c.lip - level) + lip;
  March below{c, boundary(0.9 * onset), main_circuit_at_rest(c, level, rho)};
  below.run(7.0);
  CHECK(evaluate_main_circuit(c, below.s, below.b).nozzle_fuel < 1e-9);
  // Short of the lip, the column in the riser stands as high above the bowl as the depression holds it.
  March low{c, boundary(0.4 * onset), main_circuit_at_rest(c, level, rho)};
  low.run(12.0);
  const double height = low.s.riser / (rho * riser_area(c));
  CHECK_THAT(height, near(level - c.foot + 0.4 * onset / (rho * constants::g0),
                          absolute_error(5e-5, "12 s of dying oscillation")));
  CHECK(delivery(c, boundary(1.5 * onset)) > 1e-5);
}

TEST_CASE("main circuit: a level above all holes lets no air in, and air in flow dies out",
          "[models][fuel][main_circuit][limit]") {
  const auto c = circuit();
  State s = main_circuit_at_rest(c, level, rho);
  for (double depression : {100.0, 3000.0}) {
    const auto f = evaluate_main_circuit(c, s, boundary(depression));
    CHECK(f.uncovered == 0.0);
    CHECK(f.rate.bleed_flow == 0.0);
    CHECK(f.tube_pressure == p_air);
  }
  s.bleed_flow = 1e-6;
  CHECK_THAT(evaluate_main_circuit(c, s, boundary(3000.0)).rate.bleed_flow,
             near(-1e-6 / (2.0 * response), relative(1e-6, "guard against zero flow")));
}

TEST_CASE("main circuit: with its air jet all but plugged it is the plain jet",
          "[models][fuel][main_circuit][limit]") {
  auto c = circuit();
  c.air_jet.blocked = 0.99999;
  for (double depression : {1000.0, 3000.0}) {
    Boundary b = boundary(depression);
    b.surface_tension = 0.002;
    const double head =
        depression - rho * constants::g0 * (c.lip - level) - 4.0 * b.surface_tension / c.nozzle_diameter;
    // Jet, entry of the riser and nozzle in series.
    const double entry = 0.6 * riser_area(c);
    const double openings = 1.0 / (b.nozzle_area * b.nozzle_area) + 1.0 / (entry * entry);
    double low = 0.0, high = 1e-2;
    for (int i = 0; i < 100; ++i) {
      const double q = 0.5 * (low + high);
      (jet_loss(c.main_jet, q, rho, 0.55e-6) + 0.5 * q * q / rho * openings < head ? low : high) = q;
    }
    CHECK_THAT(delivery(c, b, 4.0),
               near(0.5 * (low + high), relative(2e-3, "the last air and 4 s of settling")));
  }
}

TEST_CASE("main circuit: with all holes shut it is the plain jet until its well is drawn to the foot",
          "[models][fuel][main_circuit][limit]") {
  const auto c = without_holes();
  for (double depression : {150.0, 220.0}) {  // 248 Pa lift fuel from foot to lip
    Boundary b = boundary(depression);
    b.surface_tension = 0.002;
    const double lip = 4.0 * b.surface_tension / c.nozzle_diameter;
    const double head = depression - rho * constants::g0 * (c.lip - level) - lip;
    const double entry = 0.6 * riser_area(c);
    const double openings = 1.0 / (b.nozzle_area * b.nozzle_area) + 1.0 / (entry * entry);
    const double fuel = DrawnToFoot::root(0.0, 1e-2, [&](double q) {
      return jet_loss(c.main_jet, q, rho, 0.55e-6) + 0.5 * q * q / rho * openings - head;
    });
    March march{c, b, main_circuit_at_rest(c, level, rho)};
    CHECK_THAT(march.run(6.0), near(fuel, relative(2e-3, "6 s of settling")));
    // The surface in the well balances the full riser, and stands above the foot.
    const double above =
        c.lip - (depression - lip - 0.5 * fuel * fuel / rho * openings) / (rho * constants::g0);
    const auto f = evaluate_main_circuit(c, march.s, b);
    CHECK_THAT(f.well_level, near(above, absolute_error(1e-4, "6 s of settling")));
    CHECK(above > c.foot + 2e-3);
    CHECK(march.s.bleed_flow == 0.0);
    CHECK(f.tube_pressure == p_air);
  }
}

TEST_CASE("main circuit: with all holes shut the depression reaches the jet once air passes under the riser",
          "[models][fuel][main_circuit][limit]") {
  auto c = without_holes();
  const double head_alone = jet_flow(c.main_jet, rho * constants::g0 * (level - c.foot), rho, 0.55e-6);
  for (double air_jet : {0.6e-3, 0.9e-3, 1.8e-3})
    for (double depression : {1000.0, 3000.0, 8000.0}) {
      c.air_jet.bore = air_jet;
      DrawnToFoot by_hand{c, boundary(depression)};
      by_hand.solve();
      March march{c, by_hand.b, main_circuit_at_rest(c, level, rho)};
      const double fuel = march.run(3.0);
      INFO("air jet " << air_jet << " m, " << depression << " Pa, by hand fuel " << by_hand.fuel << " air "
                      << by_hand.air << " column " << by_hand.column << " over head alone "
                      << fuel / head_alone);
      CHECK_THAT(fuel, near(by_hand.fuel, relative(3e-3, "outflow over its transit time, 3 s of settling")));
      CHECK_THAT(march.s.bleed_flow, near(by_hand.air, relative(1e-2, "the same")));
      if (air_jet < 1e-3) CHECK(fuel > 1.3 * head_alone);
    }
}

TEST_CASE("main circuit: without a tube it is the tube with all holes shut",
          "[models][fuel][main_circuit][limit]") {
  const auto shut = without_holes();
  auto none_fitted = shut;
  none_fitted.tube.rows.clear();
  Boundary b = boundary(3000.0);
  b.surface_tension = 0.0;
  const State s = main_circuit_at_rest(shut, level, rho);
  March march{shut, b, s}, other{none_fitted, b, s};
  CHECK(march.run(0.5) == other.run(0.5));
  CHECK(march.s.bleed_flow > 1e-6);
  CHECK(march.s.bleed_flow == other.s.bleed_flow);
}

TEST_CASE("main circuit: where the air jet meters the bleed, plugged holes change the fuel by under 5 %",
          "[models][fuel][main_circuit][limit]") {
  for (double depression : {500.0, 3000.0, 8000.0}) {
    auto c = circuit();
    const Boundary b = boundary(depression);
    const double clean = delivery(c, b);
    for (double plugged : {0.6, 0.9, 1.0}) {
      c.tube.plugged = plugged;
      const double ratio = delivery(c, b) / clean;
      INFO(depression << " Pa, plugged " << plugged << ": fuel over clean " << ratio);
      CHECK(std::abs(ratio - 1.0) < 0.05);
    }
  }
}

TEST_CASE("main circuit: bleed air helps a weak draw, and leans a strong one the more the larger its jet",
          "[models][fuel][main_circuit][limit]") {
  auto bled = circuit(), more = circuit(), plain = circuit();
  more.air_jet.bore = 1.5e-3;
  plain.air_jet.blocked = 0.9999;
  double before = 1e9;
  for (double depression : {500.0, 1500.0, 8000.0}) {
    const Boundary b = boundary(depression);
    const double ratio = delivery(bled, b) / delivery(plain, b);
    INFO("depression " << depression << ", bled over plain " << ratio);
    CHECK(ratio < before);
    before = ratio;
    if (depression < 1000.0) CHECK(ratio > 1.05);  // air lightens the column
    if (depression > 5000.0) {
      CHECK(ratio < 0.98);
      CHECK(delivery(more, b) < 0.95 * delivery(bled, b));
    }
  }
}

TEST_CASE("main circuit: delivery grows with depression, jet and level",
          "[models][fuel][main_circuit][limit]") {
  const auto c = circuit();
  double before = 0.0;
  for (double depression : {300.0, 1000.0, 3000.0, 8000.0}) {
    const double fuel = delivery(c, boundary(depression));
    CHECK(fuel > before);
    before = fuel;
  }
  auto larger = c;
  larger.main_jet.bore *= 1.05;
  CHECK(delivery(larger, boundary(8000.0)) > before);
  Boundary high = boundary(8000.0);
  high.bowl_level += 0.004;
  CHECK(delivery(c, high) > before);
}

TEST_CASE("main circuit: steady flow passes on what the jet gives, less the slow circuit's draw",
          "[models][fuel][main_circuit][balance]") {
  const auto c = circuit();
  Boundary b = boundary(3000.0);
  b.slow_draw = 3e-5;
  March march{c, b, main_circuit_at_rest(c, level, rho)};
  march.run(2.0);
  const auto f = evaluate_main_circuit(c, march.s, b);
  CHECK_THAT(f.nozzle_fuel, near(march.s.jet_flow - b.slow_draw, relative(1e-3, "2 s of settling")));
  CHECK(march.s.bleed_flow > 0.0);
  CHECK(f.uncovered > 0.0);
  CHECK(f.void_fraction > 0.0);
}

TEST_CASE("main circuit: pressure at the nozzle drives fuel back to the bowl and delivers none",
          "[models][fuel][main_circuit][symmetry]") {
  const auto c = circuit();
  State full = main_circuit_at_rest(c, level, rho);
  full.riser = rho * riser_area(c) * (c.lip - c.foot) * 0.9;
  March march{c, boundary(-150.0), full};
  CHECK(march.rate(march.s).riser_flow < 0.0);
  CHECK(march.run(0.02) < 1e-9);
  CHECK(march.s.riser_flow < 0.0);
  CHECK(march.s.jet_flow < 0.0);
}

TEST_CASE("main circuit: an empty bowl delivers nothing in the end", "[models][fuel][main_circuit][limit]") {
  const auto c = circuit();
  Boundary b = boundary(3000.0);
  b.bowl_level = c.foot - 0.002;
  March march{c, b, main_circuit_at_rest(c, level, rho)};
  march.run(3.0);
  CHECK(evaluate_main_circuit(c, march.s, b).nozzle_fuel < 1e-7);
}

TEST_CASE("main circuit: rates are continuous through reversal of each flow and as holes uncover",
          "[models][fuel][main_circuit][continuity]") {
  const auto c = circuit();
  State s = main_circuit_at_rest(c, -0.013, rho);
  s.jet_flow = s.riser_flow = 2e-4;
  s.bleed_flow = 1e-6;
  const auto sweep = [&](double State::*field, double from, double to) {
    double worst = 0.0;
    for (double State::*rate :
         {&State::jet_flow, &State::well, &State::bleed_flow, &State::riser_flow, &State::riser}) {
      const auto f = [&](double x) {
        State at = s;
        at.*field = x;
        return evaluate_main_circuit(c, at, boundary(1000.0)).rate.*rate;
      };
      const auto value_range =
          largest_over(from, to, 50, f) + largest_over(from, to, 50, [&](double x) { return -f(x); });
      if (value_range > 0.0) worst = std::max(worst, jump_ratio(from, to, 500, f));
    }
    return worst;
  };
  // Stations miss zero, where within 1e-12 kg/s a guard takes the place of the jet's laminar slope.
  CHECK(sweep(&State::jet_flow, -3.001e-4, 3e-4) < smooth_ratio);
  CHECK(sweep(&State::riser_flow, -3e-4, 3e-4) < smooth_ratio);
  CHECK(sweep(&State::bleed_flow, -2e-6, 2e-6) < smooth_ratio);
  const double per_metre = rho * well_area(c);
  CHECK(sweep(&State::well, 0.004 * per_metre, 0.030 * per_metre) < smooth_ratio);
  CHECK(sweep(&State::riser, 1e-4, 3.5e-4) < smooth_ratio);
}

TEST_CASE("main circuit: void fraction lies between none and what drift flux allows",
          "[models][fuel][main_circuit][limit]") {
  CHECK(drift_flux_void(0.0, 0.5, 4e-3) == 0.0);
  CHECK(drift_flux_void(0.0, 0.0, 4e-3) == 0.0);
  CHECK_THAT(drift_flux_void(1e9, 0.1, 4e-3), near(1.0 / 1.2, relative(1e-8, "liquid and drift over gas")));
  CHECK(never_falls(0.0, 20.0, 500, [](double j) { return drift_flux_void(j, 0.1, 4e-3); }));
  CHECK(never_rises(0.0, 20.0, 500, [](double j) { return drift_flux_void(1.0, j, 4e-3); }));
}

TEST_CASE("main circuit: finite over all legal states, delivery and void in their bounds",
          "[models][fuel][main_circuit][limit]") {
  Random random(20);
  bool sound = true;
  for (int i = 0; i < 5000; ++i) {
    auto c = circuit();
    c.main_jet.bore = random.over_decades(0.4e-3, 3e-3);
    c.air_jet.blocked = random.between(0.0, 0.999);
    c.tube.plugged = random.between(0.0, 1.0);
    Boundary b = boundary(random.between(-5000.0, 40000.0));
    b.nozzle_area = random.over_decades(1e-9, 1e-5);
    b.bowl_level = random.between(-0.035, 0.01);
    const auto f = evaluate_main_circuit(c, random_state(random), b);
    sound = sound && f.nozzle_fuel >= 0.0 && f.void_fraction >= 0.0 && f.void_fraction < 1.0 &&
            f.uncovered >= 0.0 && std::isfinite(f.rate.jet_flow) && std::isfinite(f.rate.bleed_flow) &&
            std::isfinite(f.rate.riser_flow) && std::isfinite(f.rate.riser + f.rate.well) &&
            std::isfinite(f.tube_pressure + f.foot_pressure);
  }
  CHECK(sound);
}

TEST_CASE("main circuit: units agree", "[models][fuel][main_circuit][units]") {
  using namespace units;
  using D = Dimensioned;
  MainCircuit<D> c;
  c.main_jet = {1.25e-3 * metre, 2.5e-3 * metre, 0.0, 0.0 * metre};
  c.air_jet = {0.9e-3 * metre, 2.0e-3 * metre, 0.0, 0.0 * metre};
  c.tube.rows = {{-0.010 * metre, 0.8e-3 * metre, D(2.0)}};
  c.well_diameter = 7e-3 * metre;
  c.tube_diameter = 4.5e-3 * metre;
  c.foot = -0.028 * metre;
  c.lip = 0.006 * metre;
  c.riser_diameter = 4e-3 * metre;
  c.nozzle_diameter = 3e-3 * metre;
  const Dimension viscosity = kinematic_viscosity, tension = newton / metre;
  const MainCircuitBoundary<D> b{
      p_air * pascal,        level * metre,    p_air * pascal,   (p_air - 3000.0) * pascal,
      5.7e-6 * square_metre, 1e-5 * mass_flow, rho * density,    0.55e-6 * viscosity,
      0.021 * tension,       1.2 * density,    response * second};
  for (const double sign : {1.0, -1.0}) {
    const MainCircuitState<D> s{sign * 1e-3 * mass_flow, 4e-4 * kilogram, sign * 2e-5 * mass_flow,
                                sign * 1e-3 * mass_flow, 2e-4 * kilogram};
    const auto f = evaluate_main_circuit(c, s, b);
    CHECK(f.rate.jet_flow.dimension() == mass_flow / second);
    CHECK(f.rate.well.dimension() == mass_flow);
    CHECK(f.rate.bleed_flow.dimension() == mass_flow / second);
    CHECK(f.rate.riser_flow.dimension() == mass_flow / second);
    CHECK(f.rate.riser.dimension() == mass_flow);
    CHECK(f.nozzle_fuel.dimension() == mass_flow);
    CHECK(f.foot_pressure.dimension() == pascal);
    CHECK(f.uncovered.dimension() == square_metre);
    CHECK(f.void_fraction.dimension() == one);
  }
}
