#include "sim/run/summary_accumulator.hpp"

#include <algorithm>
#include <string>

#include "sim/run/lean_limit_under_load.hpp"

namespace glassbowl::sim {

void SummaryAccumulator::Count::add(double value) {
  lowest = number == 0 ? value : std::min(lowest, value);
  highest = number == 0 ? value : std::max(highest, value);
  sum += value;
  ++number;
}

Spread SummaryAccumulator::Count::spread() const {
  if (number == 0) return {};
  return {sum / static_cast<double>(number), lowest, highest};
}

void SummaryAccumulator::MixtureCount::add(double lambda) {
  Count::add(lambda);
  strength += 1.0 / lambda;
}

Spread SummaryAccumulator::MixtureCount::spread() const {
  if (number == 0) return {};
  return {static_cast<double>(number) / strength, lowest, highest};
}

SummaryAccumulator::SummaryAccumulator(const Simulation& simulation)
    : first_(simulation.state()),
      start_(simulation.time()),
      misfires_before_(simulation.misfires()),
      misfires_(misfires_before_),
      cylinders_(simulation.network().states().cylinders),
      lean_charges_(cylinders_.size()),
      stoichiometric_(simulation.network().bike().fuel.stoichiometric_ratio),
      filling_per_air_(filling_of(simulation.network().bike(), 1.0)) {}

void SummaryAccumulator::row(const Outputs<double>& outputs) {
  level_.add(outputs.carburetor.front().bowl.level);
  lift_.add(outputs.carburetor.front().piston.lift);
}

void SummaryAccumulator::cycle(const Cycle& cycle, long misfires) {
  ++cycles_;
  misfires_ = misfires;
  speed_.add(cycle.speed);
  for (std::size_t k = 0; k < cycle.cylinders.size(); ++k) {
    if (cycle.cylinders[k].mass <= 0.0) continue;  // nothing trapped yet
    lambda_.add(cycle.cylinders[k].lambda);
    cylinders_[k].add(cycle.cylinders[k].lambda);
    const auto& charge = cycle.cylinders[k];
    const double ratio = charge.lambda * stoichiometric_;  // air over fuel
    const double air = charge.mass * (1.0 - charge.residual) * ratio / (1.0 + ratio);
    if (charge.lambda > lean_limit_under_load(air * filling_per_air_)) ++lean_charges_[k];
  }
}

void SummaryAccumulator::close(const Simulation& simulation, Summary& out) const {
  constexpr double nan = std::numeric_limits<double>::quiet_NaN();
  const auto& states = simulation.network().states();
  const auto& bike = simulation.network().bike();
  const State& last = simulation.state();
  const double duration = simulation.time() - start_;
  const auto mean = [&](double change) { return duration > 0.0 ? change / duration : nan; };
  const auto& at = states.carburetors.front();
  const auto from = at.totals.load(first_.data()), to = at.totals.load(last.data());
  const auto engine_from = states.totals.load(first_.data()), engine_to = states.totals.load(last.data());

  out.simulated = duration;
  out.cycles = cycles_;
  out.misfires = misfires_ - misfires_before_;
  out.lambda = lambda_.spread();
  for (std::size_t k = 0; k < cylinders_.size(); ++k)
    if (const long all = cylinders_[k].number; all > 0)
      out.lean_charges =
          std::max(out.lean_charges, static_cast<double>(lean_charges_[k]) / static_cast<double>(all));
  for (const auto& count : cylinders_) out.cylinders.push_back(count.spread());

  double delivered = 0.0;
  const auto circuit = [&](std::string name, double change) {
    out.circuits.push_back({std::move(name), mean(change), change});
    delivered += change;
  };
  circuit("idle", to.idle - from.idle);
  for (std::size_t i = 0; i < at.port_fuel.count; ++i)
    circuit("port_" + std::to_string(i + 1), last[at.port_fuel[i]] - first_[at.port_fuel[i]]);
  circuit("main", to.main - from.main);
  if (at.pump.fitted()) circuit("pump", to.pump - from.pump);
  if (at.enrichment.fitted()) circuit("enrichment", to.enrichment - from.enrichment);
  for (auto& c : out.circuits) c.share = delivered > 0.0 ? c.share / delivered : nan;

  const double air = to.air - from.air;
  out.air_flow = mean(air);
  out.fuel_flow = mean(delivered);
  out.carburetor_lambda = delivered > 0.0 ? air / (delivered * bike.fuel.stoichiometric_ratio) : nan;
  out.manifold_pressure = mean(to.manifold_pressure - from.manifold_pressure);
  out.depression = mean(to.depression - from.depression);
  out.overflowed = to.overflowed - from.overflowed;
  const double turned = engine_to.speed - engine_from.speed;  // [rad] less than nothing after a kick back
  const auto torque = [&](double work) { return turned != 0.0 ? work / turned : nan; };
  out.speed = mean(turned);
  out.cycle_speed = speed_.spread();
  out.power = mean(engine_to.brake_work - engine_from.brake_work);
  out.torque = torque(engine_to.brake_work - engine_from.brake_work);
  out.indicated = torque(engine_to.indicated_work - engine_from.indicated_work);
  out.friction = torque(engine_to.friction_work - engine_from.friction_work);
  if (at.piston.fitted()) out.lift = lift_.spread();
  out.bowl_level = level_.spread();
  out.feed = -(states.tank.load(last.data()).fuel_change - states.tank.load(first_.data()).fuel_change);
  out.stood_off = engine_to.fuel_stood_off - engine_from.fuel_stood_off;
}

}  // namespace glassbowl::sim
