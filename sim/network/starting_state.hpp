#pragma once
#include "models/gas/volume.hpp"
#include "sim/network/network.hpp"

/// Starting state and inventories of the assembled bike. Included by right_hand_side.hpp.
namespace glassbowl::sim {

template <class Real>
std::vector<Real> Network<Real>::state_at_rest() const {
  std::vector<Real> x(states_.size, Real(0));
  const auto air = m::standard_atmosphere(Real(bike_.air.altitude(Real(0))), Real(bike_.air.warmer));
  states_.crank.store(x.data(), m::CrankState<Real>{Real(0), bike_.load.speed(Real(0))});
  const auto fill = [&](std::size_t v, Real V) {
    states_.gas.store(x.data(), v,
                      m::fill_volume(gas_, V, air.pressure, air.temperature, gas_path_.outside_fraction()));
  };
  for (std::size_t v = 0; v < states_.volumes.count; ++v) fill(v, gas_path_.fixed_volume(v));
  for (std::size_t k = 0; k < states_.cylinders; ++k)
    fill(states_.volumes.cylinders[k],
         m::cylinder_volume(bike_.engine.crank, cylinders_.angle(k, Real(0))).volume);
  for (std::size_t c = 0; c < carburetors_.size(); ++c)
    carburetors_[c].put_at_rest(air.pressure, Real(bike_.rider.throttle(Real(0))), x.data());
  return x;
}

template <class Real>
void CarburetorStages<Real>::put_at_rest(Real pressure, Real throttle, Real* x) const {
  // A float bent far enough shuts its valve before any fuel comes in.
  const Real level = m::max(p_.bowl.level + p_.bowl.float_error, -p_.bowl.depth);
  at_.bowl.store(x, m::BowlState<Real>{rho_f_ * p_.bowl.area * (level + p_.bowl.depth)});
  at_.main.store(x, m::main_circuit_at_rest(p_.main, level, rho_f_));
  const auto put = [&](const auto& handle, const m::EmulsionChannel<Real>& channel) {
    handle.store(x, m::channel_at_rest(channel, level, p_.main.foot, rho_f_, pressure, p_.body_temperature));
  };
  put(at_.slow, p_.slow);
  if (at_.enrichment.fitted()) put(at_.enrichment, p_.enrichment.channel);
  if (at_.pump.fitted()) at_.pump.store(x, m::PumpState<Real>{m::pump_cam_travel(p_.pump, throttle)});
  if (at_.piston.fitted())
    at_.piston.store(x, m::VacuumPistonState<Real>{Real(0), Real(0),
                                                   pressure * m::piston_chamber_volume(p_.piston, Real(0)) /
                                                       (R_air_ * p_.body_temperature)});
}

template <class Real>
DiscreteState<Real> Network<Real>::discrete_at_rest() const {
  DiscreteState<Real> out;
  out.ignition.resize(states_.cylinders);
  return out;
}

template <class Real>
Outputs<Real> Network<Real>::make_outputs() const {
  Outputs<Real> out;
  out.gas.resize(states_.volumes.count + 1);
  out.carburetor.resize(states_.carburetors.size());
  for (std::size_t c = 0; c < states_.carburetors.size(); ++c) {
    out.carburetor[c].port.resize(states_.carburetors[c].port_fuel.count);
    out.carburetor[c].exposure.resize(states_.carburetors[c].port_fuel.count);
  }
  out.cylinder.resize(states_.cylinders);
  out.film.resize(states_.cylinders);
  return out;
}

template <class Real>
Scratch<Real> Network<Real>::make_scratch() const {
  Scratch<Real> out;
  gas_path_.prepare(out);
  for (const auto& at : states_.carburetors) {
    out.plate.emplace_back().exposure.resize(at.port_fuel.count);
    out.ports.emplace_back().resize(at.port_fuel.count);
  }
  out.throat.resize(states_.carburetors.size());
  out.openings.resize(states_.carburetors.size());
  return out;
}

template <class Real>
Real Network<Real>::fuel_held(const Real* x) const {
  using m::Holds;
  Real sum = states_.tank.load(x).fuel_change;
  for (const auto& at : states_.carburetors)
    sum = at.slow.add_held(Holds::fuel, x,
                           at.main.add_held(Holds::fuel, x, at.bowl.add_held(Holds::fuel, x, sum)));
  for (std::size_t v = 0; v < states_.volumes.count; ++v)
    sum += x[states_.gas.index(m::vapour, v)] + x[states_.gas.index(m::droplets, v)];
  for (const auto& film : states_.films) sum = film.add_held(Holds::fuel, x, sum);
  for (std::size_t c = 0; c < carburetors_.size(); ++c) {
    const auto& at = states_.carburetors[c];
    if (at.pump.fitted()) sum -= carburetors_[c].pump_displaced(at.pump.load(x));
    sum += at.enrichment.add_held(Holds::fuel, x, Real(0));
  }
  return sum;
}

template <class Real>
Real Network<Real>::air_held(const Real* x) const {
  using m::Holds;
  Real sum = Real(0);
  for (const auto& at : states_.carburetors) sum = at.slow.add_held(Holds::air, x, sum);
  for (std::size_t v = 0; v < states_.volumes.count; ++v) sum += x[states_.gas.index(m::air, v)];
  for (const auto& at : states_.carburetors)
    sum = at.piston.add_held(Holds::air, x, at.enrichment.add_held(Holds::air, x, sum));
  return sum;
}

}  // namespace glassbowl::sim
