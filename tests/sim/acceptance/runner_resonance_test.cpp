#include <fmt/core.h>

#include <catch2/catch.hpp>
#include <cmath>

#include "models/constants.hpp"
#include "tests/sim/acceptance/drive.hpp"
#include "tests/sim/acceptance/figure.hpp"

namespace glassbowl::sim {
namespace {

constexpr double pi = models::constants::pi;

struct Ringing {
  double frequency;               // [Hz] of the pressure at the closed valve
  double sound;                   // [m/s]
  double area, length, manifold;  // [m²], [m], [m³] without its share of the runner
};

/// The single standing still, both valves closed, throttle shut against a large manifold: its runner is
/// given a breath of pressure, a quarter wave high at the valve, and rings down.
Ringing ring(double length_mm, int cells) {
  Drive drive(shipped("warm_idle",
                      {fmt::format("runner.length={} mm", length_mm), fmt::format("runner.cells={}", cells),
                       "runner.diameter=20 mm", "runner.conductance=0 W/K", "manifold.conductance=0 W/K",
                       "manifold.volume=2000 cm3", "engine.firing=[\"0 deg\"]", "load.kind=held_speed",
                       "load.speed=0 1/min", "run.settle=0 s", "run.duration=1 s", "run.step=5 us"}));
  auto& simulation = drive.simulation();
  const auto& states = drive.states();
  const auto& path = simulation.network().bike().path;
  const auto gas = simulation.outputs().gas;
  REQUIRE(simulation.outputs().cylinder[0].intake_lift == 0.0);
  for (std::size_t i = 0; i < states.volumes.cells; ++i) {
    const double place = static_cast<double>(i + 1) / static_cast<double>(states.volumes.cells);
    // 2 Pa in 100 kPa: linear, and no loss worth the name.
    simulation.state()[states.gas.index(m::energy, states.volumes.runner(0, i))] *=
        1.0 + 2e-5 * std::sin(0.5 * pi * place);
  }
  const double rest = gas[states.volumes.port(0)].pressure;
  const auto& at_rest = gas[states.volumes.port(0)];
  Ringing out;
  // cp - R = cv: ratio of heat capacities of the air as the model has it.
  const auto& data = simulation.network().gas_data();
  double cv = 0.0, R = 0.0;
  for (std::size_t i = 0; i < models::species_count; ++i) {
    cv += at_rest.fraction[i] * (data.a[i] + data.b[i] * at_rest.temperature);
    R += at_rest.fraction[i] * data.R[i];
  }
  out.sound = std::sqrt((1.0 + R / cv) * R * at_rest.temperature);
  out.area = 0.25 * pi * path.runner_diameter * path.runner_diameter;
  out.length = path.runner_length;
  out.manifold = path.manifold_volume;
  // Upward zero crossings of the pressure about its rest value; the first is skipped.
  std::vector<double> crossings;
  const double interval = 5e-6;
  double before = simulation.outputs().gas[states.volumes.port(0)].pressure - rest;
  drive.to(0.04, interval, [&](const Outputs<double>& s) {
    const double now = s.gas[states.volumes.port(0)].pressure - rest;
    if (before < 0.0 && now >= 0.0) crossings.push_back(simulation.time() - interval * now / (now - before));
    before = now;
  });
  REQUIRE(crossings.size() > 8);
  out.frequency = static_cast<double>(crossings.size() - 2) / (crossings.back() - crossings[1]);
  return out;
}

/// Two volumes joined by a gas column: runner's closed half against the manifold with the other half.
double helmholtz(const Ringing& r) {
  const double half = 0.5 * r.area * r.length;
  return r.sound / (2.0 * pi) * std::sqrt(r.area / r.length * (1.0 / half + 1.0 / (r.manifold + half)));
}

/// Exact tube, closed at the valve, on a manifold of finite volume: tan(kL) = -kL V/(A L), just above a
/// quarter wave.
double tube_on_manifold(const Ringing& r) {
  const double ratio = r.manifold / (r.area * r.length);
  double low = 0.5 * pi, high = pi;
  for (int i = 0; i < 60; ++i) {
    const double kL = 0.5 * (low + high);
    (std::sin(kL) + ratio * kL * std::cos(kL) > 0.0 ? low : high) = kL;
  }
  return low * r.sound / (2.0 * pi * r.length);
}

}  // namespace

TEST_CASE("core: a lumped runner rings as the closed form says, and halving it moves that as it says",
          "[acceptance][resonance]") {
  const Ringing full = ring(200.0, 1), half = ring(100.0, 1);
  for (const Ringing& r : {full, half}) {
    const double error = r.frequency / helmholtz(r) - 1.0;
    print_figure(fmt::format("runner of {:.0f} mm, 1 cell, rings at", 1e3 * r.length), r.frequency, "Hz",
                 fmt::format("{:.1f} Hz within 5 %", helmholtz(r)));
    CHECK(std::abs(error) < 0.05);
  }
  const double moved = half.frequency / full.frequency, expected = helmholtz(half) / helmholtz(full);
  print_figure("halving the runner raises its resonance by", moved, "times",
               fmt::format("{:.4f} within 5 %", expected));
  CHECK(std::abs(moved / expected - 1.0) < 0.05);
}

TEST_CASE("core: a runner of eight cells rings at the quarter wave", "[acceptance][resonance]") {
  double before = 1.0, quarter_wave = 1.0;
  for (const int cells : {1, 2, 4, 8}) {
    const Ringing r = ring(100.0, cells);
    const double error = std::abs(r.frequency / tube_on_manifold(r) - 1.0);
    quarter_wave = r.frequency / (r.sound / (4.0 * r.length)) - 1.0;
    print_figure(fmt::format("runner of {} cells against the quarter wave", cells), 100.0 * quarter_wave, "%",
                 cells == 8 ? "within 2" : "reported");
    print_figure(fmt::format("runner of {} cells off the exact tube on this manifold", cells), 100.0 * error,
                 "%", "under a third of the one before");
    CHECK(error < before / 3.0);
    before = error;
  }
  CHECK(std::abs(quarter_wave) < 0.02);
}

}  // namespace glassbowl::sim
