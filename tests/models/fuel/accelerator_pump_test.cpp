#include "models/fuel/accelerator_pump.hpp"

#include <algorithm>
#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/random.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {

const double rho = 745.0, nu = 0.55e-6, p_bowl = 101325.0, level = -0.004, depth = 0.026;

AcceleratorPump<> without_pull_over() {
  AcceleratorPump<> pump;
  pump.pull_over = 0.0;
  return pump;
}
PumpFlows<double> flows(const AcceleratorPump<>& pump, double travel, double cam, double p_nozzle = p_bowl,
                        double bowl_depth = depth) {
  return evaluate_pump(pump, {travel}, {cam, p_bowl, level, bowl_depth, p_nozzle, rho, nu, 1e-4});
}

struct Shot {
  double travel = 0.0, delivered = 0.0, drawn = 0.0;
  /// Cam moves to its end over `ramp`, held until `time`.
  void run(const AcceleratorPump<>& pump, double from, double to, double ramp, double time) {
    const double h = 1e-5;
    for (int i = 0; i < static_cast<int>(time / h); ++i) {
      const double cam = from + (to - from) * std::min(1.0, i * h / ramp);
      const auto f = flows(pump, travel, cam);
      delivered += h * f.nozzle;
      drawn += h * f.inlet;
      travel += h * f.rate.travel;
    }
  }
};

}  // namespace

TEST_CASE("accelerator pump: a stiff spring lands the diaphragm on its stop, it does not throw it beyond",
          "[models][fuel]") {
  AcceleratorPump<> pump;
  pump.diaphragm_diameter = 4.3e-3;
  pump.return_preload = 16.0;
  pump.inlet_area = 19e-6;
  const double travel = GENERATE(1e-4, 1e-3, 2e-3), response = 1e-4;
  const auto f = flows(pump, travel, 0.0);
  CHECK_THAT(f.rate.travel, near(-travel / (2.0 * response), relative(1e-9, "the bound, reached")));
  CHECK_THAT(f.inlet, near(-f.rate.travel * rho * pump_area(pump), relative(1e-9, "what it draws fills it")));
}

TEST_CASE("accelerator pump: untouched, with no depression, nothing moves",
          "[models][fuel][accelerator_pump][zero]") {
  const auto f = flows(AcceleratorPump<>{}, 0.0, 0.0);
  CHECK(f.pressure == 0.0);
  CHECK(f.nozzle == 0.0);
  CHECK(f.inlet == 0.0);
  CHECK(f.rate.travel == 0.0);
}

TEST_CASE("accelerator pump: the diaphragm sweeps what leaves less what enters",
          "[models][fuel][accelerator_pump][balance]") {
  Random random(23);
  double worst = 0.0;
  bool sound = true;
  for (int i = 0; i < 3000; ++i) {
    AcceleratorPump<> pump;
    pump.pull_over = random.between(0.0, 1.0);
    pump.leak_area = random.between(0.0, 1e-6);
    pump.crack = random.between(50.0, 3000.0);
    const auto f = flows(pump, random.between(-1e-4, 2e-3), random.between(0.0, 2e-3),
                         p_bowl - random.between(-5000.0, 20000.0), random.between(-0.01, 0.03));
    worst = std::max(worst, std::abs(rho * pump_area(pump) * f.rate.travel - (f.nozzle - f.inlet)) /
                                (std::abs(f.nozzle) + std::abs(f.inlet) + 1e-12));
    sound = sound && f.nozzle >= 0.0 && std::isfinite(f.rate.travel) && std::isfinite(f.pressure);
  }
  CHECK_THAT(worst, near(0.0, round_off(8, 1.0)));
  CHECK(sound);
}

TEST_CASE("accelerator pump: chamber pressure balances the springs over the diaphragm",
          "[models][fuel][accelerator_pump][exact]") {
  const AcceleratorPump<> pump;
  for (double travel : {2e-4, 1e-3})
    for (double cam : {0.0, 1.2e-3, 2e-3}) {
      const double force =
          pump.override_rate * std::max(cam - travel, 0.0) - pump.return_preload - pump.return_rate * travel;
      CHECK_THAT(flows(pump, travel, cam).pressure * pump_area(pump), near(force, round_off(16, 10.0)));
    }
}

TEST_CASE("accelerator pump: the cam takes up its lost motion, then lifts, then rests",
          "[models][fuel][accelerator_pump][limit]") {
  AcceleratorPump<> pump;
  pump.cam_start = 0.1;
  CHECK(pump_cam_travel(pump, 0.0) == 0.0);
  CHECK(pump_cam_travel(pump, 0.1) == 0.0);
  CHECK_THAT(pump_cam_travel(pump, 0.4), near(0.5 * pump.stroke, round_off(8)));
  CHECK(pump_cam_travel(pump, 0.7) == pump.stroke);
  CHECK(pump_cam_travel(pump, 1.0) == pump.stroke);
  CHECK(jump_ratio(0.0, 1.0, 500, [&](double x) { return pump_cam_travel(pump, x); }) < smooth_ratio);
}

TEST_CASE("accelerator pump: the outlet check stays shut below its crack and opens without a jump",
          "[models][fuel][accelerator_pump][continuity]") {
  const auto pump = without_pull_over();
  const double lift = rho * constants::g0 * (pump.nozzle_height - level);
  // Cam travel that puts a given pressure on the nozzle at half a millimetre of diaphragm travel.
  const auto at_nozzle = [&](double p) {
    const double force = (p + lift) * pump_area(pump) + pump.return_preload + pump.return_rate * 5e-4;
    return flows(pump, 5e-4, 5e-4 + force / pump.override_rate).nozzle;
  };
  CHECK(at_nozzle(0.49 * pump.crack) == 0.0);
  CHECK(at_nozzle(0.6 * pump.crack) > 0.0);
  CHECK_THAT(at_nozzle(3.0 * pump.crack),
             near(jet_flow(pump.nozzle, 3.0 * pump.crack, rho, nu), round_off(64)));
  CHECK(never_falls(0.0, 5000.0, 500, at_nozzle));
  CHECK(kink_ratio(0.0, 2000.0, 500, at_nozzle) < smooth_ratio);
}

TEST_CASE("accelerator pump: depression lifts the check by itself only without an anti-siphon vent",
          "[models][fuel][accelerator_pump][limit]") {
  CHECK(flows(without_pull_over(), 0.0, 0.0, p_bowl - 10000.0).nozzle == 0.0);
  AcceleratorPump<> siphoning;
  siphoning.pull_over = 1.0;
  CHECK(flows(siphoning, 0.0, 0.0, p_bowl - 10000.0).nozzle > 0.0);
  CHECK(flows(siphoning, 0.0, 0.0, p_bowl - 400.0).nozzle == 0.0);
  CHECK(flows(siphoning, 0.0, 0.0, p_bowl + 10000.0).nozzle == 0.0);
}

TEST_CASE("accelerator pump: a stab delivers what the diaphragm sweeps, less the leak",
          "[models][fuel][accelerator_pump][balance]") {
  auto pump = without_pull_over();
  Shot shot;
  shot.run(pump, 0.0, pump.stroke, 0.05, 2.0);
  CHECK_THAT(shot.delivered - shot.drawn, near(rho * pump_area(pump) * shot.travel, round_off(200000)));
  CHECK(shot.drawn < 0.0);
  CHECK(shot.delivered > 0.5 * rho * pump_area(pump) * shot.travel);
  pump.leak_area = 0.0;
  Shot tight;
  tight.run(pump, 0.0, pump.stroke, 0.05, 2.0);
  CHECK(tight.drawn == 0.0);
  CHECK(tight.delivered > shot.delivered);
  // It comes to rest toward the springs' balance with half the crack and the lift to the nozzle.
  const double rest =
      flows(pump, tight.travel, pump.stroke).pressure - rho * constants::g0 * (pump.nozzle_height - level);
  CHECK(rest > 0.5 * pump.crack);
  CHECK(rest < pump.crack);
}

TEST_CASE("accelerator pump: a slow hand loses the shot to the leak",
          "[models][fuel][accelerator_pump][limit]") {
  const auto pump = without_pull_over();
  Shot quick, slow;
  quick.run(pump, 0.0, pump.stroke, 0.05, 1.0);
  slow.run(pump, 0.0, pump.stroke, 30.0, 30.0);
  CHECK(slow.delivered < 0.6 * quick.delivered);
}

TEST_CASE("accelerator pump: let go it fills from the bowl without delivering, a dry bowl fills nothing",
          "[models][fuel][accelerator_pump][limit]") {
  const auto pump = without_pull_over();
  Shot back;
  back.travel = pump.stroke;
  back.run(pump, 0.0, 0.0, 1.0, 2.0);
  CHECK(back.delivered == 0.0);
  CHECK(back.drawn > 0.9 * rho * pump_area(pump) * pump.stroke);
  CHECK(std::abs(back.travel) < 1e-4);
  const auto wet = flows(pump, 1e-3, 0.0), dry = flows(pump, 1e-3, 0.0, p_bowl, -0.01);
  CHECK(wet.inlet > 0.0);
  CHECK(dry.inlet < 2e-6 * wet.inlet);
}

TEST_CASE("accelerator pump: flows are continuous in travel and cam",
          "[models][fuel][accelerator_pump][continuity]") {
  const AcceleratorPump<> pump;
  const auto by_travel = [&](double s) { return flows(pump, s, 6e-4, p_bowl - 2000.0).rate.travel; };
  CHECK(jump_ratio(-1e-4, 2e-3, 1000, by_travel) < smooth_ratio);
  const auto by_cam = [&](double s) { return flows(pump, 5e-4, s, p_bowl - 2000.0).rate.travel; };
  CHECK(jump_ratio(0.0, 2e-3, 1000, by_cam) < smooth_ratio);
}

TEST_CASE("accelerator pump: units agree", "[models][fuel][accelerator_pump][units]") {
  using namespace units;
  AcceleratorPump<Dimensioned> pump;
  pump.diaphragm_diameter = 0.022 * metre;
  pump.stroke = 2e-3 * metre;
  CHECK(pump_area(pump).dimension() == square_metre);
  CHECK(pump_cam_travel(pump, 0.4 * one).dimension() == metre);
  pump.override_rate = 4000.0 * (newton / metre);
  pump.return_preload = 1.0 * newton;
  pump.return_rate = 400.0 * (newton / metre);
  pump.nozzle = {0.4e-3 * metre, 1.2e-3 * metre, 0.0, 0.0 * metre};
  pump.nozzle_height = 0.02 * metre;
  pump.inlet_area = 1.5e-6 * square_metre;
  pump.crack = 600.0 * pascal;
  pump.leak_area = 0.02e-6 * square_metre;
  for (const double cam : {0.0, 2e-3}) {  // refills, and presses
    const PumpBoundary<Dimensioned> b{
        cam * metre,   p_bowl * pascal,          level * metre, depth * metre, p_bowl * pascal,
        rho * density, nu * kinematic_viscosity, 1e-4 * second};
    const auto f = evaluate_pump(pump, {1e-3 * metre}, b);
    CHECK(f.rate.travel.dimension() == metre_per_second);
    CHECK(f.inlet.dimension() == mass_flow);
    CHECK(f.pressure.dimension() == pascal);
    if (cam > 0.0) CHECK(f.nozzle.dimension() == mass_flow);
  }
}
