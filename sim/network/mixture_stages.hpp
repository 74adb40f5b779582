#pragma once
#include <vector>

#include "models/mixture/evaporation.hpp"
#include "models/mixture/wall_film.hpp"
#include "sim/network/balances.hpp"
#include "sim/network/outputs.hpp"

namespace glassbowl::sim {

/// Mixture between carburetor and exhaust: evaporation, wall films, heat from walls.
template <class Real>
class MixtureStages {
 public:
  MixtureStages(const Bike<Real>& bike, const StateMap& states, const m::GasData<Real>& gas);

  /// Evaporation in every volume up to the cylinders.
  void evaporate(const Real* x, const GasColumns<Real>& gas, const std::vector<Real>& per_volume,
                 Balances<Real>& balances) const;
  /// Heat from the walls of manifolds, runners and exhausts.
  void warm(const GasColumns<Real>& gas, Balances<Real>& balances) const;
  /// Droplets [kg/s] that strike the walls of all manifolds.
  Real strike_manifolds(const Real* x, const GasColumns<Real>& gas, Balances<Real>& balances) const;
  /// Wall films of the runners. What struck the manifolds runs down into them in equal shares.
  void films(const Real* x, const GasColumns<Real>& gas, const std::vector<Real>& per_volume, Real struck,
             Balances<Real>& balances, Real* dx, Outputs<Real>* out) const;

 private:
  const Bike<Real>& bike_;
  const StateMap& states_;
  Real R_vapour_;
  m::FilmMeasures<Real> manifold_film_, runner_film_;
  Real per_bore_area_, per_runner_area_;  // [1/m²]
  Real per_drop_time_;                    // [1/s]
};

template <class Real>
MixtureStages<Real>::MixtureStages(const Bike<Real>& bike, const StateMap& states,
                                   const m::GasData<Real>& gas)
    : bike_(bike), states_(states), R_vapour_(gas.R[m::vapour]) {
  const Real saturation = m::film_saturation(bike.film, bike.fuel);
  manifold_film_ = m::measure_film(bike.film, saturation, bike.carburetor.throttle.bore);
  runner_film_ = m::measure_film(bike.film, saturation, bike.path.runner_diameter);
  per_bore_area_ = 1.0 / circle(bike.carburetor.throttle.bore);
  per_runner_area_ = 1.0 / circle(bike.path.runner_diameter);
  per_drop_time_ = 1.0 / bike.path.drop_time;
}

template <class Real>
void MixtureStages<Real>::evaporate(const Real* x, const GasColumns<Real>& gas,
                                    const std::vector<Real>& per_volume, Balances<Real>& balances) const {
  const m::Fuel<Real> fuel = bike_.fuel;
  const Real R = R_vapour_, per_drop_time = per_drop_time_;
  const Real *droplets = x + states_.gas.index(m::droplets, 0), *vapour = x + states_.gas.index(m::vapour, 0),
             *T = gas.temperature.data(), *per_V = per_volume.data();
  const auto within = [&](const IndexRange& volumes, auto&& temperature) {
    Balances<Real> sums = balances;
    const std::size_t end = volumes.end();
#pragma GCC ivdep
    for (std::size_t v = volumes.begin; v < end; ++v) {
      const Real rate =
          m::evaporation_rate(fuel, droplets[v], vapour[v], temperature(T[v]), per_V[v], R, per_drop_time);
      sums.take(v, m::droplets, rate);
      sums.add(v, m::vapour, rate);
    }
  };
  within(states_.volumes.intake(), [](Real gas_temperature) { return gas_temperature; });
  // Liquid in a cylinder lies mostly on its walls: it is as warm as the warmer of gas and wall.
  const Real wall_temperature = bike_.engine.wall_temperature;
  within(states_.volumes.cylinders,
         [=](Real gas_temperature) { return m::max(gas_temperature, wall_temperature); });
}

template <class Real>
void MixtureStages<Real>::warm(const GasColumns<Real>& gas, Balances<Real>& balances) const {
  const auto& path = bike_.path;
  const auto& v = states_.volumes;
  const auto wall = [&](std::size_t volume, Real conductance, Real temperature) {
    balances.add_energy(volume, conductance * (temperature - gas.temperature[volume]));
  };
  for (const auto& carburetor : states_.carburetors)
    wall(carburetor.manifold, path.manifold_conductance, path.manifold_wall);
  for (std::size_t k = 0; k < states_.cylinders; ++k) {
    for (std::size_t i = 0; i < v.cells; ++i)
      wall(v.runner(k, i), path.runner_conductance / static_cast<double>(v.cells),
           bike_.film.wall_temperature);
    wall(v.exhausts[k], path.exhaust_conductance, path.exhaust_wall);
  }
}

template <class Real>
Real MixtureStages<Real>::strike_manifolds(const Real* x, const GasColumns<Real>& gas,
                                           Balances<Real>& balances) const {
  Real sum = Real(0);
  for (const auto& carburetor : states_.carburetors) {
    const std::size_t v = carburetor.manifold;
    const Real speed = x[states_.passages.flow[carburetor.plate]] * gas.specific_volume[v] * per_bore_area_;
    const Real struck = m::film_deposition(manifold_film_, x[states_.gas.index(m::droplets, v)], speed);
    balances.add_species(v, m::droplets, -struck, gas.temperature[v]);
    sum += struck;
  }
  return sum;
}

template <class Real>
void MixtureStages<Real>::films(const Real* x, const GasColumns<Real>& columns,
                                const std::vector<Real>& per_volume, Real struck, Balances<Real>& balances,
                                Real* dx, Outputs<Real>* out) const {
  const Real wall = bike_.film.wall_temperature;
  for (std::size_t k = 0; k < states_.cylinders; ++k) {
    const std::size_t port = states_.volumes.port(k);
    const auto y = states_.gas.load(x, port).mass;
    const auto gas = columns[port];
    const Real speed =
        x[states_.passages.flow[states_.passages.intake_valves[k]]] * gas.specific_volume * per_runner_area_;
    const auto film =
        m::evaluate_film(bike_.film, runner_film_, states_.films[k].load(x).fuel, y[m::droplets],
                         y[m::vapour] * R_vapour_ * gas.temperature * per_volume[port], speed);
    const Real share = struck / static_cast<double>(states_.cylinders);
    states_.films[k].store(dx, m::WallFilmState<Real>{film.deposited + share - film.evaporated - film.crept});
    balances.add_species(port, m::droplets, -film.deposited, gas.temperature);
    balances.add_species(port, m::vapour, film.evaporated, wall);
    balances.add_species(states_.volumes.cylinders[k], m::droplets, film.crept, wall);
    if (out != nullptr) out->film[k] = film;
  }
}

}  // namespace glassbowl::sim
