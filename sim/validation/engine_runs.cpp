#include "sim/validation/engine_runs.hpp"

#include <atomic>
#include <cmath>
#include <exception>
#include <mutex>
#include <stdexcept>
#include <thread>

#include "models/constants.hpp"
#include "models/engine/combustion.hpp"
#include "models/engine/crank_geometry.hpp"
#include "sim/bike/resolved_case.hpp"
#include "sim/cases/find_case.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;

sim::Bike<double> shipped_bike(const std::string& name) {
  auto bike = sim::read_case(sim::find_case("bikes/" + name),
                             {"load.kind=held_speed", "load.speed=3500 rpm", "run.duration=1 s"})
                  .bike;
  bike.air.relative_humidity = 0.0;
  bike.air.warmer = 0.0;
  bike.load.kind = m::LoadKind::held_speed;
  return bike;
}

Steady run_steady(sim::Bike<double> bike, const Operating& at) {
  bike.load.kind = m::LoadKind::held_speed;
  bike.load.speed = m::Schedule<>::constant(at.rpm * m::constants::pi / 30.0);
  bike.rider.throttle = m::Schedule<>::constant(at.throttle);
  bike.air.altitude = m::Schedule<>::constant(at.altitude);
  sim::StepOptions options;
  options.step = at.step;
  sim::Simulation simulation(bike, options);
  if (at.ideal_lambda > 0.0) simulation.use_ideal_mixture(at.ideal_lambda);
  const auto go = [&](double until, const std::function<void(const sim::Cycle&)>& on_cycle) {
    if (!simulation.advance(until, on_cycle)) throw std::runtime_error("an engine stalled in the checks");
  };
  go(at.settle, {});

  Steady out;
  int counted = 0, samples = 0;
  const auto& states = simulation.network().states();
  const double share = 1.0 / (at.cycles * static_cast<double>(states.cylinders));
  const auto add = [&](const sim::Cycle& c) {
    if (counted == at.cycles) return;
    ++counted;
    out.air_per_cycle += c.air_flow * c.duration / at.cycles;
    out.fuel_per_cycle += c.fuel_flow * c.duration / at.cycles;
    out.indicated += c.indicated_torque / at.cycles;
    out.brake += c.torque / at.cycles;
    out.manifold += c.manifold_pressure / at.cycles;
    for (const auto& charge : c.cylinders) {
      out.residual += charge.residual * share;
      out.ignited += charge.ignited * share;
    }
  };
  while (counted < at.cycles) {
    go(simulation.time() + 5e-4, add);
    for (std::size_t k = 0; k < states.cylinders; ++k)
      out.exhaust += simulation.outputs().gas[states.volumes.exhausts[k]].pressure;
    samples += static_cast<int>(states.cylinders);
  }
  out.exhaust /= samples;
  const auto& outside = simulation.outputs().outside;
  const double swept = m::displacement(bike.engine.crank) * static_cast<double>(states.cylinders);
  out.volumetric_efficiency = out.air_per_cycle / (swept * outside.density * outside.fraction[m::air]);
  out.lambda = out.air_per_cycle / (out.fuel_per_cycle * bike.fuel.stoichiometric_ratio);
  const auto& ignition = simulation.discrete().ignition[0];
  const double cycle = 4.0 * m::constants::pi;
  const double start = ignition.burn_start > 0.5 * cycle ? ignition.burn_start - cycle : ignition.burn_start;
  out.burn_duration = ignition.burn_duration;
  // Half has burned where 1 - exp(-a s³) = 1/2.
  out.burned_50 = start + std::cbrt(std::log(2.0) / m::wiebe_a) * ignition.burn_duration;
  return out;
}

std::vector<Steady> run_points(const sim::Bike<double>& bike, const std::vector<Operating>& points) {
  std::vector<Steady> out(points.size());
  in_parallel(points.size(), [&](std::size_t i) { out[i] = run_steady(bike, points[i]); });
  return out;
}

void in_parallel(std::size_t count, const std::function<void(std::size_t)>& job) {
  std::atomic<std::size_t> next{0};
  std::exception_ptr failure;
  std::mutex guard;
  const auto work = [&] {
    for (std::size_t i = next++; i < count; i = next++) {
      try {
        job(i);
      } catch (...) {
        const std::lock_guard<std::mutex> lock(guard);
        if (!failure) failure = std::current_exception();
      }
    }
  };
  std::thread other(work);
  work();
  other.join();
  if (failure) std::rethrow_exception(failure);
}

}  // namespace glassbowl::validation
