#pragma once
#include <type_traits>

#include "sim/lanes/instruction_set.hpp"
#include "sim/network/network.hpp"
#include "sim/network/starting_state.hpp"

/// The right-hand side of the assembled bike: its stages, each given what earlier ones returned. Included
/// where a network is built for one kind of value: network.cpp, and the kernel for lanes.
namespace glassbowl::sim {

template <class Real>
Network<Real>::Network(const Bike<Real>& bike)
    : bike_(bike),
      states_(StateMap::parts_of(bike)),
      gas_(m::make_gas_data(bike.fuel)),
      gas_path_(bike_, states_, gas_),
      mixture_(bike_, states_, gas_),
      cylinders_(bike_, states_) {
  if constexpr (std::is_same_v<Real, double>) evaluation_ = chosen_evaluation();
  carburetors_.reserve(states_.carburetors.size());
  for (const auto& states : states_.carburetors)
    carburetors_.emplace_back(bike_.carburetor, states, bike_, gas_);
}

template <class Real>
void Network<Real>::rates(Real t, const Real* x, const DiscreteState<Real>& discrete, Real* dx,
                          Scratch<Real>& scratch, Outputs<Real>* out) const {
  if constexpr (std::is_same_v<Real, double>)
    evaluation_(*this, t, x, discrete, dx, scratch, out);
  else
    evaluate(t, x, discrete, dx, scratch, out);
}

template <class Real>
void Network<Real>::evaluate(Real t, const Real* x, const DiscreteState<Real>& discrete, Real* dx,
                             Scratch<Real>& scratch, Outputs<Real>* out) const {
  const std::size_t count = states_.carburetors.size();
  const bool ideal = discrete.ideal_lambda > 0.0;
  for (std::size_t i = 0; i < states_.size; ++i) dx[i] = Real(0);
  Balances<Real> balances(states_, gas_, dx);
  EngineTotals<Real> totals{};

  // Controls and the crank's position.
  const Controls<Real> controls = this->controls(t);
  const m::CrankState<Real> crank = states_.crank.load(x);
  const Real omega = cylinders_.crank_speed(t, crank);
  const CylinderPositions<Real> positions = cylinders_.positions(crank.angle);
  const ValveAreas<Real> valves = cylinders_.valves(positions);

  // Gas volumes, openings between them, and what passes.
  const m::Gas<Real> air = gas_path_.outside_air(controls.altitude);
  const GasColumns<Real>& gas = gas_path_.volumes(x, positions, air, scratch);
  for (std::size_t c = 0; c < count; ++c) {
    const auto& plate = carburetors_[c].plate(controls, scratch.plate[c]);
    scratch.throat[c] = carburetors_[c].throat(controls, x, gas.pressure[Volumes::airbox],
                                               gas.pressure[states_.carburetors[c].mixing]);
    scratch.openings[c] = {scratch.throat[c].with_choke, plate.plate.area};
  }
  const std::vector<Real>& area = gas_path_.areas(scratch.openings, valves, scratch.area);
  const Real* flow_rate = gas_path_.momentum(x, gas, area, dx);
  const auto& carried = gas_path_.carry(x, gas, scratch.carried);
  gas_path_.exchange(carried, balances, totals, dx);

  // Carburetors, or the ideal mixture in their place.
  const Real ideal_fuel = ideal ? ideal_mixture(x, discrete.ideal_lambda, gas, balances) : Real(0);
  Real fed = ideal_fuel;
  for (std::size_t c = 0; c < count; ++c) {
    const auto& at = states_.carburetors[c];
    const CarburetorBoundary<Real> boundary{controls,
                                            air.pressure,
                                            gas[Volumes::airbox],
                                            gas[at.mixing],
                                            gas[at.manifold],
                                            {x[states_.passages.flow[at.bore]]},
                                            {flow_rate[at.bore]},
                                            carried[m::air][at.bore],
                                            states_.tank.load(x)};
    gas_path_.leak(at.manifold, air, boundary.manifold, balances, totals);
    auto delivered =
        carburetors_[c].rates(boundary, scratch.plate[c], scratch.throat[c], !ideal, x, balances,
                              scratch.ports[c], dx, out != nullptr ? &out->carburetor[c] : nullptr);
    if (c == 0) delivered.totals.main += ideal_fuel;
    at.totals.store(dx, delivered.totals);
    fed += delivered.feed;
  }
  states_.tank.store(dx, m::TankState<Real>{-fed});

  // Mixture.
  mixture_.evaporate(x, gas, scratch.per_volume, balances);
  mixture_.warm(gas, balances);
  const Real struck = mixture_.strike_manifolds(x, gas, balances);
  mixture_.films(x, gas, scratch.per_volume, struck, balances, dx, out);

  // Cylinders and crank.
  const Real indicated = cylinders_.burn(x, discrete, positions, omega, gas, balances, totals, out);
  const CrankOutputs<Real> torques = cylinders_.torques(omega, indicated, controls.starter);
  states_.crank.store(dx, cylinders_.crank_rate(t, torques, air.density));
  totals.speed = omega;
  totals.indicated_work = indicated * omega;
  totals.friction_work = torques.friction * omega;
  totals.brake_work = torques.brake * omega;
  states_.totals.store(dx, totals);

  if (out == nullptr) return;
  out->controls = controls;
  out->outside = air;
  out->gas = gas;
  out->crank = torques;
  for (std::size_t k = 0; k < states_.cylinders; ++k) {
    auto& cylinder = out->cylinder[k];
    cylinder.angle = positions[k].angle;
    cylinder.volume = positions[k].volume;
    cylinder.intake_lift = valves[k].intake_lift;
    cylinder.exhaust_lift = valves[k].exhaust_lift;
  }
}

template <class Real>
Controls<Real> Network<Real>::controls(Real t) const {
  const auto& rider = bike_.rider;
  return {m::clamp(rider.throttle(t), Real(0), Real(1)), m::clamp(rider.choke(t), Real(0), Real(1)),
          rider.tap(t), Real(rider.starter(t)), bike_.air.altitude(t)};
}

/// Reference for lag: fuel vapour joins the air as it passes each intake valve, straight from the tank;
/// circuits and films stand still. Returns that fuel [kg/s].
template <class Real>
Real Network<Real>::ideal_mixture(const Real* x, double lambda, const GasColumns<Real>& gas,
                                  Balances<Real>& balances) const {
  Real sum = Real(0);
  for (std::size_t k = 0; k < states_.cylinders; ++k) {
    const std::size_t port = states_.volumes.port(k);
    const Real air = m::positive_part(x[states_.passages.flow[states_.passages.intake_valves[k]]]) *
                     gas.fraction[m::air][port];
    const Real fuel = air / (lambda * bike_.fuel.stoichiometric_ratio);
    balances.add_species(states_.volumes.cylinders[k], m::vapour, fuel, gas.temperature[port]);
    sum += fuel;
  }
  return sum;
}

}  // namespace glassbowl::sim
