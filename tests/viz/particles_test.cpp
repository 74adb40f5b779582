#include <catch2/catch.hpp>

#include "tests/viz/run_files.hpp"
#include "viz/cutaway/particles.hpp"
#include "viz/source/trace_source.hpp"

namespace glassbowl::viz {
namespace {

constexpr double pi = 3.14159265358979323846;

}  // namespace

TEST_CASE("particles: air marks move as fast as the flow, density and section say", "[viz][particles]") {
  for (const auto& file : {RunFiles::fixed_venturi(), RunFiles::vacuum_piston()}) {
    TraceSource source(file);
    const Signals signals(source);
    const CarburetorPlan plan(source.geometry());
    const EnginePlan engine(source.geometry());
    Particles particles(plan, engine, 20000);
    const auto& g = source.geometry();
    // Straight part of the bore before the throat, where it has its full section.
    const double from = g.choke_fitted ? plan.choke_x + 8e-3 : plan.horn,
                 to = plan.throat_x - plan.throat_half - 1e-3;
    REQUIRE(to > from);
    int checked = 0;
    // Times that share no divisor with the cycle; those of hardly any flow are passed over below.
    for (int i = 1; i <= 24; ++i) {
      const double time = i * 0.0163, dt = 2e-5;
      particles.settle(signals, source, time);
      const Instant now(source, time + dt);
      particles.advance(signals, now, dt);
      double sum = 0.0, count = 0.0;
      for (const auto& p : particles.all()) {
        if (p.engine || p.fresh || p.hue != Hue::air || p.before < from || p.before > to) continue;
        sum += (p.place - p.before) / dt;
        ++count;
      }
      const double mass = now[source.find("airbox_air")] + now[source.find("airbox_vapour")] +
                          now[source.find("airbox_droplets")] + now[source.find("airbox_burned")];
      const double expected =
          now[source.find("bore_flow")] / (mass / g.airbox_volume * 0.25 * pi * g.bore * g.bore);
      if (std::abs(expected) < 0.5 || count < 12) continue;
      CAPTURE(file, time, count);
      CHECK(sum / count == Approx(expected).epsilon(0.05));
      ++checked;
    }
    CHECK(checked >= 5);
  }
}

TEST_CASE("particles: fuel dots leave the nozzle as often as its flow says", "[viz][particles]") {
  TraceSource source(RunFiles::fixed_venturi());
  const Signals signals(source);
  const CarburetorPlan plan(source.geometry());
  const EnginePlan engine(source.geometry());
  Particles particles(plan, engine, 10);
  // A millisecond about the greatest flow of the run.
  std::size_t best = 0;
  for (std::size_t row = 0; row < source.end_row(); ++row)
    if (source.value(signals.main_flow, row) > source.value(signals.main_flow, best)) best = row;
  const double start = source.row_time(best) - 5e-4;
  particles.advance(signals, Instant(source, start), 0.0);
  double delivered = 0.0, seen = 0.0;
  // Steps so short that no dot leaves the picture before it is counted.
  const double dt = 1e-5;
  for (int i = 1; i <= 100; ++i) {
    const Instant now(source, start + i * dt);
    particles.advance(signals, now, dt);
    delivered += std::max(0.0, now[signals.main_flow]) * dt;
    std::size_t dots = 0;
    for (const auto& p : particles.all()) dots += p.hue == Hue::main ? 1U : 0U;
    seen = std::max(seen, static_cast<double>(dots));
  }
  REQUIRE(delivered > 10 * fuel_per_dot);
  CHECK(std::abs(seen - delivered / fuel_per_dot) <= 1.0 + 0.05 * delivered / fuel_per_dot);
}

}  // namespace glassbowl::viz
