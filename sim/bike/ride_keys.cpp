#include <fmt/format.h>
#include <cmath>

#include "models/fluids/atmosphere.hpp"
#include "sim/bike/declare_keys.hpp"
#include "sim/bike/stable_step.hpp"

namespace glassbowl::sim {
namespace {

void schedule(Keys& keys, const char* path, m::Schedule<>& target, std::string_view unit, Range range,
              std::optional<std::string_view> fallback, const char* text) {
  std::vector<Keys::Point> points;
  keys.points(path, points, "s", unit, {-1e4, 1e6}, range, fallback, text);
  if (!points.empty()) target = m::Schedule<>(std::move(points));
}

}  // namespace

void declare_ride(Keys& keys, Bike<double>& bike) {
  schedule(keys, "air.altitude", bike.air.altitude, "m", {-400, 6000}, "0 m",
           "over time: one value, or a climb");
  double temperature = 0.0;
  keys.quantity("air.temperature", temperature, units::temperature, {-40, 55}, "15 degC",
                "at the first altitude; the standard atmosphere's fall with height comes on top");
  keys.quantity("air.humidity", bike.air.relative_humidity, units::percent, {0, 100}, "50 %", "relative");
  schedule(keys, "rider.throttle", bike.rider.throttle, units::percent, {0, 100}, "0 %",
           "0 % on the idle stop, 100 % wide open");
  schedule(keys, "rider.choke", bike.rider.choke, units::percent, {0, 100}, "0 %",
           "choke plate closed, or enrichment plunger lifted");
  schedule(keys, "rider.tap", bike.rider.tap, units::percent, {0, 100}, "100 %", "fuel tap open");
  schedule(keys, "rider.starter", bike.rider.starter, units::percent, {0, 100}, "0 %", "starter or kick");

  auto& l = bike.load;
  keys.choice("load.kind", l.kind,
              {{"held_speed", m::LoadKind::held_speed},
               {"neutral", m::LoadKind::neutral},
               {"in_gear", m::LoadKind::in_gear}},
              std::nullopt, "dynamometer holding the speed, no load, or the bike on the road");
  schedule(keys, "load.speed", l.speed, units::revolutions_per_minute, {0, 16000}, std::nullopt,
           "held speed over time; neutral and in gear start from its first value");
  keys.quantity("load.released", l.released, "s", {-1e6, 1e6}, "-1e6 s",
                "neutral and in gear: the speed is held until then, while fuel and films settle");
  keys.quantity("load.vehicle_mass", l.vehicle_mass, "kg", {40, 1000}, "280 kg", "with rider");
  keys.quantity("load.drag_area", l.drag_area, "m2", {0.1, 3}, "0.55 m2",
                "drag coefficient times frontal area");
  keys.quantity("load.rolling", l.rolling, units::one, {0, 0.1}, "0.015", "rolling resistance over weight");
  keys.quantity("load.overall_ratio", l.overall_ratio, units::one, {1, 40}, "7",
                "crank turns per wheel turn");
  keys.quantity("load.wheel_radius", l.wheel_radius, "mm", {100, 500}, "310 mm", "of the driven wheel");
  keys.quantity("load.efficiency", l.driveline_efficiency, units::percent, {50, 100}, "93 %",
                "of the driveline");
  keys.quantity("load.gradient", l.gradient, units::percent, {-40, 40}, "0 %", "rise over run");
  if (!keys.sound()) return;
  bike.air.warmer = temperature - m::standard_atmosphere(bike.air.altitude(0.0)).temperature;
}

namespace {

/// Refuses what a fixed step cannot follow for certain. Measured on random bikes: none runs whose cells sound
/// crosses more than 1.75 times in a step, or whose step is more than 6 responses.
void check_step(Keys& keys, const GasPath<double>& path, const StepOptions& options) {
  constexpr double most = 1.75, most_responses = 6.0;
  if (options.method != Method::fixed_step) return;
  const double cell = path.runner_length / path.runner_cells;
  const double crossed = speed_of_sound * options.step / cell;
  if (crossed > most) {
    const double room = std::floor(stable_crossings * path.runner_length / (speed_of_sound * options.step));
    keys.problem(
        keys.given("runner.cells") ? "runner.cells" : "runner.length",
        fmt::format("makes cells of {:.3g} mm, which sound crosses {:.3g} times in a run.step of {:.3g} us",
                    cell * 1e3, crossed, options.step * 1e6),
        fmt::format("{}a run.step of at most {:.2g} us, or run.method = \"error_controlled\"",
                    room >= 2.0   ? fmt::format("at most {:.0f} cells, ", room)
                    : room >= 1.0 ? "one cell, "
                                  : "",
                    stable_crossings * cell / speed_of_sound * 1e6));
  }
  if (options.step > most_responses * path.response)
    keys.problem(keys.given("numerics.response") ? "numerics.response" : "run.step",
                 fmt::format("a run.step of {:.3g} us cannot follow a response of {:.3g} us",
                             options.step * 1e6, path.response * 1e6),
                 "a run.step of at most twice the response, or run.method = \"error_controlled\"");
}

}  // namespace

void declare_run(Keys& keys, const GasPath<double>& path, RunPlan& plan) {
  keys.quantity("run.duration", plan.duration, "s", {0.001, 36000}, std::nullopt, "from time 0");
  keys.quantity("run.settle", plan.settle, "s", {0, 600}, "0 s",
                "before time 0, with every schedule at its first point");
  keys.quantity("run.trace_interval", plan.trace_interval, "ms", {0.01, 1000}, "0.1 ms",
                "between rows of the trace");
  keys.choice("run.method", plan.step.method,
              {{"fixed_step", Method::fixed_step}, {"error_controlled", Method::error_controlled}},
              "fixed_step", "integrator: the fast one, or the reference");
  keys.quantity("run.step", plan.step.step, "us", {1, 100}, "50 us", "fixed step");
  keys.quantity("run.tolerance", plan.step.tolerance, units::one, {1e-12, 1e-3}, "1e-6",
                "of the error-controlled method");
  if (!keys.sound()) return;
  check_step(keys, path, plan.step);
  if (plan.trace_interval < plan.step.step)
    keys.problem("run.trace_interval", "shorter than the step of the computation", "at least run.step");
  if (plan.duration / plan.trace_interval > 2e8)
    keys.problem("run.trace_interval",
                 fmt::format("gives {:.0f} million rows", plan.duration / plan.trace_interval * 1e-6),
                 "a longer interval, at most 200 million rows");
}

}  // namespace glassbowl::sim
