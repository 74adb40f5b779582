#include "models/engine/load.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

TEST_CASE("load: a dynamometer holds its speed, a bike until it is let go", "[models][engine][load][exact]") {
  Load<> load;
  load.released = 0.5;
  load.kind = LoadKind::held_speed;
  CHECK(speed_is_held(load, 0.4));
  CHECK(speed_is_held(load, 0.6));
  for (LoadKind kind : {LoadKind::neutral, LoadKind::in_gear}) {
    load.kind = kind;
    CHECK(speed_is_held(load, 0.4));
    CHECK_FALSE(speed_is_held(load, 0.5));
  }
  CHECK_FALSE(speed_is_held(Load<>{}, 0.0));
}

TEST_CASE("load: the road takes drag, rolling and grade, each by itself", "[models][engine][load][zero]") {
  Load<> load;
  load.drag_area = load.rolling = load.gradient = 0.0;
  const double omega = 400.0, rho = 1.2, lever = load.wheel_radius / load.overall_ratio,
               speed = omega * lever;
  CHECK(road_torque(load, omega, rho) == 0.0);
  load.drag_area = 0.55;
  CHECK_THAT(road_torque(load, omega, rho) * omega * load.driveline_efficiency,
             near(0.5 * rho * 0.55 * speed * speed * speed, round_off(16)));
  CHECK(road_torque(load, 0.0, rho) == 0.0);
  load.drag_area = 0.0;
  load.gradient = 0.06;
  CHECK_THAT(road_torque(load, omega, rho) * omega * load.driveline_efficiency,
             near(load.vehicle_mass * constants::g0 * 0.06 * speed, round_off(16)));
  load.gradient = -0.06;
  CHECK(road_torque(load, omega, rho) < 0.0);  // downhill the road drives
}

TEST_CASE("load: kinetic energy is the same at wheel and crank", "[models][engine][load][balance]") {
  const Load<> load;
  const double omega = 500.0, speed = omega * load.wheel_radius / load.overall_ratio;
  CHECK_THAT(reflected_inertia(load) * omega * omega, near(load.vehicle_mass * speed * speed, round_off(16)));
  CHECK(never_falls(0.0, 900.0, 200, [&](double w) { return road_torque(load, w, 1.2); }));
}

TEST_CASE("load: units agree", "[models][engine][load][units]") {
  using namespace units;
  Load<Dimensioned> load;
  load.vehicle_mass = 280.0 * kilogram;
  load.wheel_radius = 0.31 * metre;
  CHECK(reflected_inertia(load).dimension() == kilogram * square_metre);
}
