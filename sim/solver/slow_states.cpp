#include "sim/solver/slow_states.hpp"

#include <algorithm>
#include <cmath>

#include "models/gas/volume.hpp"

namespace glassbowl::sim {
namespace {

constexpr double kelvin = 300.0;  // a unit of temperature

m::VolumeState<double> gas_of(const State& x, std::size_t at) {
  return {{x[at], x[at + 1], x[at + 2], x[at + 3]}, x[at + 4]};
}

void put_gas(const m::VolumeState<double>& gas, std::size_t at, State& x) {
  std::copy(gas.mass.begin(), gas.mass.end(), x.begin() + static_cast<std::ptrdiff_t>(at));
  x[at + 4] = gas.energy;
}

/// 1/(1 - e^{-T/τ})
double reach_of(double period, double tau) {
  return -1.0 / std::expm1(-period / tau);
}

/// Time [s] in which state i alone would return, from its rate at x and a little above.
double response_time(const Simulation& simulation, State x, std::size_t i) {
  const auto& network = simulation.network();
  auto snapshot = network.make_snapshot();
  State before(x.size()), after(x.size());
  network.rates(simulation.time(), x.data(), simulation.held(), before.data(), snapshot);
  const double step = 1e-4 * std::max(x[i], 1e-3);
  x[i] += step;
  network.rates(simulation.time(), x.data(), simulation.held(), after.data(), snapshot);
  return std::clamp(step / (before[i] - after[i]), 0.2, 5.0);
}

}  // namespace

SlowStates::SlowStates(const Simulation& simulation, double period)
    : network_(simulation.shared_network()),
      bike_(network_->bike()),
      layout_(network_->layout()),
      gas_(network_->gas_data()),
      period_(period) {
  for (std::size_t k = 0; k < layout_.cylinders; ++k) add(Kind::film, layout_.film(k), 1e-6, 1.0);
  add(Kind::bowl, layout_.bowl, 1e-3, 10.0);
  for (const std::size_t slot : {1, 4}) add(Kind::main, layout_.main + slot, 1e-6, 0.1);
  if (layout_.piston != absent) {
    add(Kind::piston, layout_.piston, 1e-3, 1.0);
    add(Kind::piston, layout_.piston + 2, layout_.names[layout_.piston + 2].nominal, 1.0);
  }
  add(Kind::temperature, 0, 1.0, 3.0);
  add(Kind::fraction, m::burned, 1.0, 3.0);
  for (const auto fuel : {m::vapour, m::droplets}) add(Kind::fraction, fuel, 1.0, 15.0);  // one of air : fuel
}

Eigen::VectorXd SlowStates::read(const State& x) const {
  const auto airbox =
      m::evaluate_volume(gas_, gas_of(x, layout_.volume(Layout::airbox)), bike_.path.airbox_volume);
  Eigen::VectorXd out(static_cast<Eigen::Index>(coordinates_.size()));
  Eigen::Index i = 0;
  for (const auto& c : coordinates_)
    out[i++] = c.kind == Kind::temperature ? airbox.temperature / kelvin
               : c.kind == Kind::fraction  ? airbox.fraction[c.at]
                                           : x[c.at];
  return out;
}

void SlowStates::write(const Eigen::VectorXd& coordinates, State& x) const {
  const std::size_t at = layout_.volume(Layout::airbox);
  const auto airbox = m::evaluate_volume(gas_, gas_of(x, at), bike_.path.airbox_volume);
  double temperature = airbox.temperature;
  auto fraction = airbox.fraction;
  Eigen::Index i = 0;
  for (const auto& c : coordinates_) {
    const double value = coordinates[i++];
    if (c.kind == Kind::temperature)
      temperature = value * kelvin;
    else if (c.kind == Kind::fraction)
      fraction[c.at] = value;
    else
      x[c.at] = value;
  }
  fraction[m::air] = 1.0 - fraction[m::vapour] - fraction[m::droplets] - fraction[m::burned];
  put_gas(m::fill_volume(gas_, bike_.path.airbox_volume, airbox.pressure, temperature, fraction), at, x);
}

Eigen::VectorXd SlowStates::reach(const Simulation& simulation, const State& x) const {
  Eigen::VectorXd out(static_cast<Eigen::Index>(coordinates_.size()));
  // A film that evaporates into half-saturated mixture, and creeps during a part of the cycle.
  const auto& film = bike_.film;
  const double tau_film = 1.0 / (0.8 / film.evaporation_time + 0.15 / film.creep_time);
  Eigen::Index i = 0;
  for (const auto& c : coordinates_)
    out[i++] = c.kind == Kind::film   ? reach_of(period_, tau_film)
               : c.kind == Kind::bowl ? reach_of(period_, response_time(simulation, x, c.at))
                                      : 1.0;
  return out;
}

Eigen::VectorXd SlowStates::weights(const Eigen::VectorXd& coordinates, const Cycle& cycle) const {
  Eigen::VectorXd out(coordinates.size());
  const double share = std::clamp(cycle.main / cycle.fuel_flow, 1e-6, 1.0);
  Eigen::Index i = 0;
  for (const auto& c : coordinates_) {
    const bool scaled = c.kind != Kind::temperature && c.kind != Kind::fraction;
    out[i] = c.weight / (scaled ? std::max(std::abs(coordinates[i]), c.least) : 1.0);
    if (c.kind == Kind::main) out[i] *= share;
    ++i;
  }
  return out;
}

Eigen::VectorXd SlowStates::bounded(Eigen::VectorXd wanted, const Eigen::VectorXd& found) const {
  if (!wanted.allFinite()) return found;
  Eigen::Index i = 0;
  for (const auto& c : coordinates_) {
    double& value = wanted[i];
    const double here = found[i++];
    switch (c.kind) {
      case Kind::film:
        value = std::clamp(value, 0.2 * std::max(here, 0.0), 10.0 * std::max(here, 0.0) + 5e-5);
        break;
      case Kind::temperature:
        value = std::clamp(value, here - 0.1, here + 0.1);
        break;
      case Kind::fraction:
        value = std::clamp(value, here - 0.05, here + 0.05);
        value = std::clamp(value, 0.0, std::max(here, 0.3));
        break;
      default:
        value = std::clamp(value, std::min(0.8 * here, 1.25 * here), std::max(0.8 * here, 1.25 * here));
    }
  }
  return wanted;
}

void heat_silencer(const Simulation& simulation, State& x) {
  const auto& network = simulation.network();
  const double volume = network.bike().path.silencer_volume;
  const std::size_t at = network.layout().volume(network.layout().silencer());
  const double pressure = m::evaluate_volume(network.gas_data(), gas_of(x, at), volume).pressure;
  m::PerSpecies<double> burned{};
  burned[m::burned] = 1.0;
  put_gas(m::fill_volume(network.gas_data(), volume, pressure, 700.0, burned), at, x);
}

void settle_silencer(const Simulation& simulation, double period, const Cycle& cycle, const State& before,
                     State& now) {
  const auto& network = simulation.network();
  const auto& data = network.gas_data();
  const double volume = network.bike().path.silencer_volume;
  const std::size_t at = network.layout().volume(network.layout().silencer());
  const auto first = m::evaluate_volume(data, gas_of(before, at), volume);
  const auto last = m::evaluate_volume(data, gas_of(now, at), volume);
  const double mass = last.density * volume;
  const double beyond = reach_of(period, mass / (cycle.air_flow + cycle.fuel_flow)) - 1.0;
  m::PerSpecies<double> fraction;
  double sum = 0.0;
  for (std::size_t i = 0; i < m::species_count; ++i) {
    fraction[i] = std::clamp(last.fraction[i] + beyond * (last.fraction[i] - first.fraction[i]), 0.0, 1.0);
    sum += fraction[i];
  }
  for (double& f : fraction) f /= sum;
  const double temperature = std::clamp(last.temperature + beyond * (last.temperature - first.temperature),
                                        0.6 * last.temperature, 1.6 * last.temperature);
  put_gas(m::fill_volume(data, volume, last.pressure, temperature, fraction), at, now);
}

}  // namespace glassbowl::sim
