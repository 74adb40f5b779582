#include "sim/steady/slow_states.hpp"

#include <algorithm>
#include <cmath>

#include "models/gas/volume.hpp"

namespace glassbowl::sim {
namespace {

constexpr double kelvin = 300.0;  // a unit of temperature

/// One of the big volumes that gas flows through, within a state vector.
class Vessel {
 public:
  Vessel(const Network<double>& network, std::size_t index, double volume)
      : data_(network.gas_data()), states_(network.states().gas), index_(index), volume_(volume) {}
  static Vessel airbox(const Network<double>& network) {
    return {network, Volumes::airbox, network.bike().path.airbox_volume};
  }
  static Vessel silencer(const Network<double>& network) {
    return {network, network.states().volumes.silencer, network.bike().path.silencer_volume};
  }
  m::Gas<double> gas(const State& x) const {
    return m::evaluate_volume(data_, states_.load(x.data(), index_), volume_);
  }
  /// Other gas at the pressure there is, which follows at once and is not to be disturbed.
  void refill(double temperature, const m::PerSpecies<double>& fraction, State& x) const {
    states_.store(x.data(), index_, m::fill_volume(data_, volume_, gas(x).pressure, temperature, fraction));
  }
  double mass(const m::Gas<double>& gas) const { return gas.density * volume_; }

 private:
  const m::GasData<double>& data_;
  GasStates states_;
  std::size_t index_;
  double volume_;
};

/// 1/(1 - e^{-T/τ})
double reach_of(double period, double tau) {
  return -1.0 / std::expm1(-period / tau);
}

/// Time [s] in which state i alone would return, from its rate at x and a little above.
double response_time(const Simulation& simulation, State x, std::size_t i) {
  const auto& network = simulation.network();
  auto scratch = network.make_scratch();
  State before(x.size()), after(x.size());
  network.rates(simulation.time(), x.data(), simulation.discrete(), before.data(), scratch);
  const double step = 1e-4 * std::max(x[i], 1e-3);
  x[i] += step;
  network.rates(simulation.time(), x.data(), simulation.discrete(), after.data(), scratch);
  return std::clamp(step / (before[i] - after[i]), 0.2, 5.0);
}

}  // namespace

SlowStates::SlowStates(const Simulation& simulation, double period)
    : network_(simulation.shared_network()),
      bike_(network_->bike()),
      states_(network_->states()),
      period_(period) {
  using Film = m::WallFilmState<double>;
  using Bowl = m::BowlState<double>;
  using Main = m::MainCircuitState<double>;
  using Channel = m::EmulsionChannelState<double>;
  using Piston = m::VacuumPistonState<double>;
  for (const auto& film : states_.films) add(Kind::film, film.index(&Film::fuel), 1e-6, 1.0);
  for (const auto& at : states_.carburetors) {
    add(Kind::bowl, at.bowl.index(&Bowl::fuel), 1e-3, 1.0);
    for (const auto fuel : {&Main::well, &Main::riser}) add(Kind::main, at.main.index(fuel), 1e-6, 0.1);
    // A passage that fills for dozens of cycles delivers nothing until it is full.
    for (const auto fuel : {&Channel::riser, &Channel::liquid})
      add(Kind::channel, at.slow.index(fuel), 1e-6, 0.1);
    if (!at.piston.fitted()) continue;
    add(Kind::piston, at.piston.index(&Piston::lift), 1e-3, 3.0);
    const std::size_t chamber = at.piston.index(&Piston::chamber_air);
    add(Kind::piston, chamber, states_.names[chamber].nominal, 3.0);
  }
  add(Kind::temperature, 0, 1.0, 3.0);
  add(Kind::fraction, m::burned, 1.0, 3.0);
  for (const auto fuel : {m::vapour, m::droplets}) add(Kind::fraction, fuel, 1.0, 15.0);  // one of air : fuel
}

Eigen::VectorXd SlowStates::read(const State& x) const {
  const auto airbox = Vessel::airbox(*network_).gas(x);
  Eigen::VectorXd out(static_cast<Eigen::Index>(coordinates_.size()));
  Eigen::Index i = 0;
  for (const auto& c : coordinates_)
    out[i++] = c.kind == Kind::temperature ? airbox.temperature / kelvin
               : c.kind == Kind::fraction  ? airbox.fraction[c.at]
                                           : x[c.at];
  return out;
}

void SlowStates::write(const Eigen::VectorXd& coordinates, State& x) const {
  const auto airbox = Vessel::airbox(*network_);
  const auto gas = airbox.gas(x);
  double temperature = gas.temperature;
  auto fraction = gas.fraction;
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
  airbox.refill(temperature, fraction, x);
}

Eigen::VectorXd SlowStates::reach(const Simulation& simulation, const State& x, const Cycle& cycle) const {
  Eigen::VectorXd out(static_cast<Eigen::Index>(coordinates_.size()));
  // A film that evaporates into mixture far from saturated, and creeps during a part of the cycle: shares
  // estimated, after the 0.7 to 1.2 s that the shipped bikes' cycle maps have.
  const auto& film = bike_.film;
  const double tau_film = 1.0 / (0.8 / film.evaporation_time + 0.15 / film.creep_time);
  // Pulses drive gas to and fro through the bore, which renews the airbox sooner than its mean flow does:
  // half the time, by trial.
  const auto airbox = Vessel::airbox(*network_);
  const double tau_airbox = 0.5 * airbox.mass(airbox.gas(x)) / std::max(cycle.air_flow, 1e-5);
  Eigen::Index i = 0;
  for (const auto& c : coordinates_) {
    const bool airbox_gas = c.kind == Kind::temperature || c.kind == Kind::fraction;
    out[i++] = c.kind == Kind::film   ? reach_of(period_, tau_film)
               : c.kind == Kind::bowl ? reach_of(period_, response_time(simulation, x, c.at))
               : airbox_gas           ? reach_of(period_, tau_airbox)
                                      : 1.0;
  }
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
  constexpr double hot = 700.0;  // [K] to begin with; common practice, no published source
  m::PerSpecies<double> burned{};
  burned[m::burned] = 1.0;
  Vessel::silencer(simulation.network()).refill(hot, burned, x);
}

void settle_silencer(const Simulation& simulation, double period, const Cycle& cycle, const State& before,
                     State& now) {
  const auto silencer = Vessel::silencer(simulation.network());
  const auto first = silencer.gas(before), last = silencer.gas(now);
  const double beyond = reach_of(period, silencer.mass(last) / (cycle.air_flow + cycle.fuel_flow)) - 1.0;
  m::PerSpecies<double> fraction;
  double sum = 0.0;
  for (std::size_t i = 0; i < m::species_count; ++i) {
    fraction[i] = std::clamp(last.fraction[i] + beyond * (last.fraction[i] - first.fraction[i]), 0.0, 1.0);
    sum += fraction[i];
  }
  for (double& f : fraction) f /= sum;
  silencer.refill(std::clamp(last.temperature + beyond * (last.temperature - first.temperature),
                             0.6 * last.temperature, 1.6 * last.temperature),
                  fraction, now);
}

}  // namespace glassbowl::sim
