#include <fmt/core.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "models/constants.hpp"
#include "tests/sim/acceptance/drive.hpp"
#include "tests/sim/acceptance/figure.hpp"

namespace glassbowl::sim {
namespace {

constexpr double degree = models::constants::pi / 180.0;

struct Trough {
  double angle;  // [deg] of the crank, 0..720
  double depth;  // below the mean of the cycle
};

/// Signal over one engine cycle of a held engine, one value per degree.
std::vector<double> one_cycle(Drive& drive, double speed,
                              double (*signal)(const Outputs<double>&, const CarburetorStates&)) {
  const double per_degree = degree / (speed * models::constants::pi / 30.0);
  auto& simulation = drive.simulation();
  // Begin at a firing top dead centre of cylinder 1.
  const double angle = simulation.state()[drive.states().crank.index(&m::CrankState<double>::angle)];
  const double begin = simulation.time() + (720.0 - std::fmod(angle / degree, 720.0)) * per_degree;
  std::vector<double> out;
  drive.to(begin);
  for (int i = 0; i < 720; ++i) {
    drive.to(begin + i * per_degree);
    out.push_back(signal(simulation.outputs(), drive.states().carburetors.front()));
  }
  return out;
}

/// Troughs deeper than half of the deepest, measured from the mean; one per stretch below a quarter of it.
std::vector<Trough> troughs_of(const std::vector<double>& signal) {
  double mean = 0.0;
  for (const double v : signal) mean += v / static_cast<double>(signal.size());
  const double deepest = mean - *std::min_element(signal.begin(), signal.end());
  // Start on a crest, so that no stretch is cut in two.
  const auto start =
      static_cast<std::size_t>(std::max_element(signal.begin(), signal.end()) - signal.begin());
  std::vector<Trough> out;
  bool below = false;
  for (std::size_t i = 0; i < signal.size(); ++i) {
    const std::size_t at = (start + i) % signal.size();
    const double depth = mean - signal[at];
    if (!below && depth > 0.5 * deepest) {
      below = true;
      out.push_back({static_cast<double>(at), depth});
    }
    if (below && depth > out.back().depth) out.back() = {static_cast<double>(at), depth};
    if (depth < 0.25 * deepest) below = false;
  }
  return out;
}

}  // namespace

TEST_CASE("core: manifold and bore feel one event per intake stroke, at the firing intervals",
          "[acceptance][pulses]") {
  struct Engine {
    const char* run;
    double first, second;  // [deg] firing intervals
  };
  const auto engine = GENERATE(values<Engine>({{"slow_sweep", 408, 312}, {"slow_sweep_piston", 360, 360}}));
  const double speed = 2000.0;
  struct Signal {
    const char* name;
    double opening;
    double (*value)(const Outputs<double>&, const CarburetorStates&);
  };
  const std::vector<Signal> signals{
      {"manifold pressure", 8.0,
       [](const Outputs<double>& s, const CarburetorStates& at) { return s.gas.pressure[at.manifold]; }},
      {"pressure at the nozzle", 40.0,
       [](const Outputs<double>& s, const CarburetorStates&) { return s.carburetor[0].bore.nozzle; }},
  };
  for (const Signal& signal : signals) {
    Drive drive(shipped(engine.run, {"load.kind=held_speed", fmt::format("load.speed={} 1/min", speed),
                                     fmt::format("rider.throttle={} %", signal.opening), "run.settle=1.5 s",
                                     "run.duration=1 s"}));
    drive.to(0.0);
    auto troughs = troughs_of(one_cycle(drive, speed, signal.value));
    print_figure(fmt::format("{}: events of {} in one cycle", engine.run, signal.name),
                 static_cast<double>(troughs.size()), "", "2, one per intake stroke");
    REQUIRE(troughs.size() == 2);
    std::sort(troughs.begin(), troughs.end(),
              [](const Trough& a, const Trough& b) { return a.angle < b.angle; });
    const double between = troughs[1].angle - troughs[0].angle;
    // Whichever comes first in the cycle, one of the two gaps is cylinder 1 to cylinder 2.
    const double gap = std::abs(between - engine.first) < std::abs(720.0 - between - engine.first)
                           ? between
                           : 720.0 - between;
    print_figure(fmt::format("{}: from one event of {} to the next", engine.run, signal.name), gap, "deg",
                 fmt::format("{} within 15", engine.first));
    CHECK(std::abs(gap - engine.first) < 15.0);
    CHECK(std::abs(720.0 - gap - engine.second) < 15.0);
  }
}

TEST_CASE("core: at full throttle and low speed the bore's flow reverses and the nozzle feeds it again",
          "[acceptance][pulses]") {
  const std::string run = GENERATE(values<std::string>({"slow_sweep", "slow_sweep_piston"}));
  const double speed = 2500.0;
  Drive drive(shipped(run, {"load.kind=held_speed", fmt::format("load.speed={} 1/min", speed),
                            "rider.throttle=100 %", "run.settle=2 s", "run.duration=1 s"}));
  drive.to(0.0);
  const double cycle = 120.0 / speed;
  const auto bore = drive.states().passages.flow[drive.states().carburetors[0].bore];
  double reversed_time = 0.0, reversed_fuel = 0.0, fuel = 0.0, air_back = 0.0, air = 0.0;
  int reversals = 0;
  bool back = false;
  const double interval = 50e-6;
  drive.to(10.0 * cycle, interval, [&](const Outputs<double>& s) {
    const double q = drive.simulation().state()[bore];
    fuel += s.carburetor[0].main.nozzle_fuel * interval;
    if (q < 0.0) {
      reversed_time += interval;
      reversed_fuel += s.carburetor[0].main.nozzle_fuel * interval;
      air_back -= q * interval;
      if (!back) ++reversals;
    } else {
      air += q * interval;
    }
    back = q < 0.0;
  });
  print_figure(run + ": reversals of the bore's flow per cycle", reversals / 10.0, "", ">= 1");
  print_figure(run + ": share of time with reversed flow", 100.0 * reversed_time / (10.0 * cycle), "%",
               "> 0");
  print_figure(run + ": air that passes the nozzle again, of all forward", 100.0 * air_back / air, "%",
               "> 0");
  print_figure(run + ": nozzle fuel into reversed flow", 100.0 * reversed_fuel / fuel, "%", "> 1");
  CHECK(reversals >= 10);
  CHECK(reversed_fuel > 0.01 * fuel);
}

}  // namespace glassbowl::sim
