#include "sim/run/tally.hpp"

#include <algorithm>
#include <string>

#include "sim/run/lean_limit.hpp"

namespace glassbowl::sim {

void Tally::Count::add(double value) {
  lowest = number == 0 ? value : std::min(lowest, value);
  highest = number == 0 ? value : std::max(highest, value);
  sum += value;
  ++number;
}

Spread Tally::Count::spread() const {
  if (number == 0) return {};
  return {sum / static_cast<double>(number), lowest, highest};
}

void Tally::MixtureCount::add(double lambda) {
  Count::add(lambda);
  strength += 1.0 / lambda;
}

Spread Tally::MixtureCount::spread() const {
  if (number == 0) return {};
  return {static_cast<double>(number) / strength, lowest, highest};
}

Tally::Tally(const Simulation& simulation)
    : first_(simulation.state()),
      start_(simulation.time()),
      misfires_before_(simulation.misfires()),
      misfires_(misfires_before_),
      cylinders_(simulation.network().layout().cylinders),
      lean_charges_(cylinders_.size()),
      stoichiometric_(simulation.network().bike().fuel.stoichiometric_ratio),
      filling_per_air_(filling_of(simulation.network().bike(), 1.0)) {}

void Tally::row(const Snapshot<double>& snapshot) {
  level_.add(snapshot.bowl_level);
  lift_.add(snapshot.lift);
}

void Tally::cycle(const Cycle& cycle, long misfires) {
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
    if (charge.lambda > lean_limit(air * filling_per_air_)) ++lean_charges_[k];
  }
}

void Tally::close(const Simulation& simulation, Summary& out) const {
  constexpr double nan = std::numeric_limits<double>::quiet_NaN();
  const auto& layout = simulation.network().layout();
  const auto& bike = simulation.network().bike();
  const State& last = simulation.state();
  const double duration = simulation.time() - start_;
  const auto change = [&](std::size_t i) { return last[i] - first_[i]; };
  const auto mean = [&](std::size_t i) { return duration > 0.0 ? change(i) / duration : nan; };

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
  const auto circuit = [&](std::string name, std::size_t i) {
    out.circuits.push_back({std::move(name), mean(i), change(i)});
    delivered += change(i);
  };
  circuit("idle", layout.by_idle);
  for (std::size_t i = 0; i < layout.ports; ++i) circuit("port_" + std::to_string(i + 1), layout.by_port + i);
  circuit("main", layout.by_main);
  if (layout.pump != absent) circuit("pump", layout.by_pump);
  if (layout.enrichment != absent) circuit("enrichment", layout.by_enrichment);
  for (auto& c : out.circuits) c.share = delivered > 0.0 ? c.share / delivered : nan;

  out.air_flow = mean(layout.carburetor_air);
  out.fuel_flow = duration > 0.0 ? delivered / duration : nan;
  out.carburetor_lambda =
      delivered > 0.0 ? change(layout.carburetor_air) / (delivered * bike.fuel.stoichiometric_ratio) : nan;
  out.speed = mean(layout.speed);
  out.cycle_speed = speed_.spread();
  const double turned = change(layout.speed);  // [rad] less than nothing after a kick back
  out.power = mean(layout.brake_work);
  out.torque = turned != 0.0 ? change(layout.brake_work) / turned : nan;
  out.indicated = turned != 0.0 ? change(layout.indicated_work) / turned : nan;
  out.friction = turned != 0.0 ? change(layout.friction_work) / turned : nan;
  out.manifold_pressure = mean(layout.manifold_pressure);
  out.depression = mean(layout.depression);
  if (layout.piston != absent) out.lift = lift_.spread();
  out.bowl_level = level_.spread();
  out.feed = -change(layout.tank);
  out.stood_off = change(layout.fuel_stood_off);
  out.overflowed = change(layout.fuel_overflowed);
}

}  // namespace glassbowl::sim
