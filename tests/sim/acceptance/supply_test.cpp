#include <fmt/core.h>

#include <catch2/catch.hpp>
#include <cmath>

#include "models/fuel/bowl.hpp"
#include "models/fuel/tank_feed.hpp"
#include "tests/sim/acceptance/drive.hpp"
#include "tests/sim/acceptance/figure.hpp"

namespace glassbowl::sim {
namespace {

/// The level [m] at which the float's needle passes `demand` [kg/s] on average: balance of moments and flow
/// under the bowl's pressure above the outside [Pa], sampled over time. By bisection.
double balanced_level(const Bike<double>& bike, double tank_fuel, double rho,
                      const std::vector<double>& pressure, double demand) {
  const auto& carb = bike.carburetor;
  const double feed = models::feed_pressure(carb.feed, tank_fuel, rho);
  const double hose = models::feed_area(carb.feed, 1.0);
  double low = -carb.bowl.depth, high = carb.bowl.rim;
  for (int i = 0; i < 50; ++i) {
    const double h = 0.5 * (low + high);
    const double seat = models::float_valve_area(carb.bowl, h, feed, rho);
    double flow = 0.0;
    for (const double p : pressure) flow += models::bowl_inflow(hose, seat, feed - p, rho);
    (flow > demand * static_cast<double>(pressure.size()) ? low : high) = h;
  }
  return 0.5 * (low + high);
}

}  // namespace

TEST_CASE("core: the bowl's level settles where the float balances", "[acceptance][supply]") {
  struct Point {
    const char* run;
    double opening, speed;
  };
  const auto point = GENERATE(values<Point>({{"slow_sweep", 0, 1500},
                                             {"slow_sweep", 30, 3000},
                                             {"full_throttle_pull", 100, 6000},
                                             {"full_throttle_pull_piston", 100, 6000}}));
  Drive drive(shipped(
      point.run, {"load.kind=held_speed", fmt::format("load.speed={} 1/min", point.speed),
                  fmt::format("rider.throttle={} %", point.opening), "run.settle=6 s", "run.duration=1 s"}));
  drive.to(0.0);
  const auto& states = drive.states();
  const auto& network = drive.simulation().network();
  std::vector<Cycle> cycles;
  double level = 0.0;
  std::vector<double> pressure;
  drive.to(0.5, [&](const Cycle& cycle) { cycles.push_back(cycle); });
  drive.to(1.0, 0.5e-3, [&](const Outputs<double>& s) {
    level += s.carburetor[0].bowl.level;
    pressure.push_back(s.carburetor[0].bowl.pressure - s.outside.pressure);
  });
  level /= static_cast<double>(pressure.size());
  const Means m = mean_of(cycles, drive.stoichiometric());
  const double tank = network.fuel_density() * network.bike().carburetor.feed.fuel_volume +
                      drive.simulation().state()[states.tank.index(&m::TankState<double>::fuel_change)];
  const double expected = balanced_level(network.bike(), tank, network.fuel_density(), pressure, m.fuel);
  print_figure(fmt::format("{} at {} %, {} 1/min: level", point.run, point.opening, point.speed), 1e3 * level,
               "mm", fmt::format("{:.3f} mm within 0.3", 1e3 * expected));
  CHECK(std::abs(level - expected) < 0.3e-3);
}

TEST_CASE("core: a half-shut tap starves the bowl at full throttle", "[acceptance][supply]") {
  const std::string run = GENERATE(values<std::string>({"starvation", "starvation_piston"}));
  const auto resolved = shipped(run);
  Drive drive(resolved);
  drive.to(0.0);
  double lean_at = INFINITY, low_at = INFINITY, lowest = INFINITY;
  const double opened = resolved.bike.rider.throttle.points().back().first;
  const double foot = resolved.bike.carburetor.main.foot;
  std::vector<Cycle> rich;
  const auto watch = [&](const Cycle& c) {
    const double now = c.start + c.duration;
    if (now > opened + 1.0 && now < opened + 1.5) rich.push_back(c);
    if (now > opened + 1.5 && c.lambda_trapped() > 1.15 && now < lean_at) lean_at = now;
  };
  for (double t = 0.0; t < resolved.plan.duration - 1e-6; t += 0.05) {
    drive.to(t + 0.05, watch);
    const double level = drive.simulation().outputs().carburetor[0].bowl.level;
    lowest = std::min(lowest, level);
    if (level < foot + 3e-3 && low_at == INFINITY) low_at = t + 0.05;
  }
  REQUIRE_FALSE(rich.empty());
  print_figure(run + ": trapped lambda a second after opening", mean_of(rich, drive.stoichiometric()).trapped,
               "", "< 1.0");
  print_figure(run + ": bowl down to 3 mm above the jets after", low_at - opened, "s of full throttle",
               "within the run");
  print_figure(run + ": leaner than 1.15 after", lean_at - opened, "s of full throttle", "within the run");
  print_figure(run + ": lowest level", 1e3 * lowest, "mm", fmt::format("{:.1f} mm is the jets'", 1e3 * foot));
  CHECK(std::isfinite(low_at));
  CHECK(std::isfinite(lean_at));
}

}  // namespace glassbowl::sim
