#include "models/fuel/transfer_ports.hpp"

#include <catch2/catch.hpp>

#include "tests/support/dimensioned.hpp"
#include "tests/support/sweep.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {
const TransferPort<> port{2.0e-3, 0.9e-3, 0.0};
}

TEST_CASE("transfer ports: covered, half and wholly exposed", "[models][fuel][transfer_ports][exact]") {
  CHECK(port_exposure(port, 0.0) == 0.0);
  CHECK_THAT(port_exposure(port, 2.0e-3), near(0.5, round_off(16)));
  CHECK(port_exposure(port, 5.0e-3) == 1.0);
  // A chord at a quarter of the diameter: 1/3 - √3/(4 π) of the circle.
  CHECK_THAT(port_exposure(port, 2.0e-3 - 0.25 * 0.9e-3),
             near(1.0 / 3.0 - std::sqrt(3.0) / (4.0 * constants::pi), round_off(64)));
}

TEST_CASE("transfer ports: exposure grows from 0 to 1, alike from both ends",
          "[models][fuel][transfer_ports][symmetry]") {
  const auto f = [](double edge) { return port_exposure(port, edge); };
  CHECK(never_falls(1e-3, 3e-3, 2000, f, 1e-15));
  CHECK(largest_over(1e-3, 3e-3, 2000, f) <= 1.0);
  CHECK(largest_over(1e-3, 3e-3, 2000, [&](double x) { return -f(x); }) <= 0.0);
  CHECK_THAT(
      largest_over(0.0, 1e-3, 999, [&](double x) { return std::abs(f(2e-3 + x) + f(2e-3 - x) - 1.0); }),
      near(0.0, round_off(64, 1.0)));
  CHECK(jump_ratio(1e-3, 3e-3, 500, f) < smooth_ratio);
}

TEST_CASE("transfer ports: far upstream a covered port feels nothing of the slot, at the edge all of it",
          "[models][fuel][transfer_ports][limit]") {
  const double up = 1e5, down = 7e4, gap = 0.3e-3;
  CHECK_THAT(covered_port_pressure(up, down, gap, 1.0),
             near(up, relative(1e-6, "gap over distance, squared")));
  CHECK_THAT(covered_port_pressure(up, down, gap, 0.0),
             near(down, relative(4e-3, "guard of 1 µm beside the gap")));
  CHECK(covered_port_pressure(up, down, gap, -1e-3) == covered_port_pressure(up, down, gap, 0.0));
  CHECK(covered_port_pressure(up, down, 0.0, 1e-3) == up);
  CHECK(covered_port_pressure(up, up, gap, 1e-3) == up);
}

TEST_CASE("transfer ports: the drop at a covered port is bounded by choking and gone in reversed flow",
          "[models][fuel][transfer_ports][limit]") {
  const double up = 1e5, gap = 0.3e-3;
  CHECK(covered_port_pressure(up, 2e4, gap, 1e-3) == covered_port_pressure(up, 1e4, gap, 1e-3));
  CHECK(covered_port_pressure(up, 1.2e5, gap, 1e-3) == up);
  CHECK(
      never_falls(0.0, 1.2e5, 500, [&](double down) { return covered_port_pressure(up, down, gap, 1e-3); }));
  CHECK(never_falls(0.0, 5e-3, 500, [&](double s) { return covered_port_pressure(up, 7e4, gap, s); }));
  CHECK(never_rises(0.0, 5e-3, 500, [&](double g) { return covered_port_pressure(up, 7e4, g, 1e-3); }));
}

TEST_CASE("transfer ports: units agree", "[models][fuel][transfer_ports][units]") {
  using namespace units;
  const TransferPort<Dimensioned> other{2.0e-3 * metre, 0.9e-3 * metre, 0.0 * one};
  CHECK(port_exposure(other, 2.1e-3 * metre).dimension() == one);
  CHECK(covered_port_pressure(1e5 * pascal, 7e4 * pascal, 0.3e-3 * metre, 1e-3 * metre).dimension() ==
        pascal);
}
