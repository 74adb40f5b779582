#pragma once
#include <cmath>

#include "models/engine/wall_heat.hpp"
#include "models/mixture/evaporation.hpp"
#include "models/mixture/wall_film.hpp"
#include "sim/network/network.hpp"
#include "sim/network/work.hpp"

/// Mixture on its way, cylinders and crankshaft of the assembled bike. Included by network_rates.hpp.
namespace glassbowl::sim {

/// Evaporation in every volume, wall films, heat from the manifold's and the exhaust's walls.
template <class Real>
void Network<Real>::mixture(const Real* x, Real* dx, Snapshot<Real>& s) const {
  const auto& path = bike_.path;
  const m::Fuel<Real> fuel = bike_.fuel;
  const Real R = gas_.R[m::vapour], per_drop_time = per_drop_time_;
  const auto evaporate = [&](std::size_t begin, std::size_t end, auto&& temperature) {
#pragma GCC ivdep
    for (std::size_t v = begin; v < end; ++v) {
      const Real rate =
          m::evaporation_rate(fuel, x[layout_.gas(m::droplets, v)], x[layout_.gas(m::vapour, v)],
                              temperature(s.gas.temperature[v]), s.per_volume[v], R, per_drop_time);
      dx[layout_.gas(m::droplets, v)] -= rate;
      dx[layout_.gas(m::vapour, v)] += rate;
    }
  };
  evaporate(0, layout_.cylinder(0), [](Real T) { return T; });
  // Liquid in a cylinder lies mostly on its walls: it is as warm as the warmer of gas and wall.
  const Real wall_temperature = bike_.engine.wall_temperature;
  evaporate(layout_.cylinder(0), layout_.exhaust(0), [=](Real T) { return m::greater(T, wall_temperature); });

  const auto warm = [&](std::size_t v, Real conductance, Real wall) {
    const Real heat = conductance * (wall - s.gas.temperature[v]);
    dx[layout_.gas(m::energy, v)] += heat;
    dx[layout_.other_energy + v] += heat;
  };
  warm(Layout::manifold, path.manifold_conductance, path.manifold_wall);
  const auto manifold = s.gas[Layout::manifold];
  const Real manifold_speed = x[layout_.face(Layout::plate)] * manifold.specific_volume * per_bore_area_;
  const Real struck =
      m::film_deposition(manifold_film_, x[layout_.gas(m::droplets, Layout::manifold)], manifold_speed);
  add_species(Layout::manifold, m::droplets, -struck, manifold.temperature, dx);
  for (std::size_t k = 0; k < layout_.cylinders; ++k) {
    for (std::size_t i = 0; i < layout_.cells; ++i)
      warm(layout_.runner_cell(k, i), path.runner_conductance / static_cast<double>(layout_.cells),
           bike_.film.wall_temperature);
    warm(layout_.exhaust(k), path.exhaust_conductance, path.exhaust_wall);

    const std::size_t port = layout_.port_cell(k);
    const auto y = m::volume_at(x + layout_.gas(0, port), layout_.volumes).mass;
    const auto gas = s.gas[port];
    const Real speed = x[layout_.face(layout_.intake_valve(k))] * gas.specific_volume * per_runner_area_;
    const auto film =
        m::evaluate_film(bike_.film, runner_film_, x[layout_.film(k)], y[m::droplets],
                         y[m::vapour] * gas_.R[m::vapour] * gas.temperature * per_volume_[port], speed);
    s.film[k] = film;
    // Droplets that strike the manifold's wall run down into the runners in equal shares.
    const Real share = struck / static_cast<double>(layout_.cylinders);
    dx[layout_.film(k)] = film.deposited + share - film.evaporated - film.crept;
    add_species(port, m::droplets, -film.deposited, gas.temperature, dx);
    add_species(port, m::vapour, film.evaporated, bike_.film.wall_temperature, dx);
    add_species(layout_.cylinder(k), m::droplets, film.crept, bike_.film.wall_temperature, dx);
  }
}

/// Combustion, wall heat and work of every cylinder; the crankshaft.
template <class Real>
void Network<Real>::engine(Real t, const Real* x, const Held<Real>& held, Real* dx, Work& w,
                           Snapshot<Real>& s) const {
  using std::sqrt;
  const auto& e = bike_.engine;
  const Real omega = s.omega;
  const Real piston_speed = m::absolute(omega) * e.crank.stroke * (1.0 / m::constants::pi);
  const Real piston_area = circle(e.crank.bore);
  const Real afr = bike_.fuel.stoichiometric_ratio;
  Real torque = Real(0);
  for (std::size_t k = 0; k < layout_.cylinders; ++k) {
    const std::size_t v = layout_.cylinder(k);
    const auto y = m::volume_at(x + layout_.gas(0, v), layout_.volumes).mass;
    auto& c = s.cylinder[k];
    const auto gas = s.gas[v];

    // Burning moves mass only; the energy is in the species.
    const auto& ignition = held.ignition[k];
    Real angle = c.angle - ignition.burn_start;
    angle = m::select(angle < Real(0), angle + Real(4.0 * m::constants::pi), angle);
    const Real per_duration = 1.0 / ignition.burn_duration;
    const Real hazard = m::wiebe_hazard(angle * per_duration) * omega * per_duration;
    const Real left = m::lesser(y[m::vapour], y[m::vapour] + y[m::droplets] - ignition.unburnable);
    c.burn_rate = hazard * m::positive(m::lesser(left, y[m::air] * per_afr_));
    dx[layout_.gas(m::vapour, v)] -= c.burn_rate;
    dx[layout_.gas(m::air, v)] -= c.burn_rate * afr;
    dx[layout_.gas(m::burned, v)] += c.burn_rate * (1.0 + afr);
    dx[layout_.fuel_burned] += c.burn_rate;
    dx[layout_.air_burned] += c.burn_rate * afr;

    const Real height = c.volume * per_piston_area_;
    const Real area = Real(2.2) * piston_area + m::constants::pi * e.crank.bore * height;
    c.wall_heat = e.heat_factor * area * (gas.temperature - e.wall_temperature) *
                  m::hohenberg_coefficient(c.volume, gas.pressure, gas.temperature, piston_speed);
    const Real power = gas.pressure * w.volume_slope[k] * omega;
    dx[layout_.gas(m::energy, v)] -= power + c.wall_heat;
    dx[layout_.other_energy + v] -= power + c.wall_heat;
    torque += (gas.pressure - w.outside_pressure) * w.volume_slope[k];
  }

  const Real swept = m::displacement(e.crank) * static_cast<double>(layout_.cylinders);
  const Real sign = omega / sqrt(omega * omega + Real(1.0));
  s.indicated_torque = torque;
  s.friction_torque = sign * m::friction_mep(e.friction, piston_speed) * swept * (0.25 / m::constants::pi);
  s.brake_torque = torque - s.friction_torque;
  s.starter_torque =
      Real(bike_.rider.starter(t)) * e.starter_torque * m::positive(1.0 - omega / e.starter_speed);

  Real load = Real(0);
  if (bike_.load.kind == m::LoadKind::in_gear)
    load = sign * m::road_torque(bike_.load, omega, s.outside.density);
  const Real acceleration = (s.brake_torque + s.starter_torque - load) * per_inertia_;
  dx[layout_.crank_angle] = omega;
  dx[layout_.crank_speed] = m::select(m::speed_is_held(bike_.load, t), Real(0), acceleration);
  dx[layout_.speed] = omega;
  dx[layout_.indicated_work] = torque * omega;
  dx[layout_.friction_work] = s.friction_torque * omega;
  dx[layout_.brake_work] = s.brake_torque * omega;
}

/// Decided a little before the spark, when the charge is closed in: when and how fast it will burn, and
/// how much of its fuel finds air.
template <class Real>
Ignition<Real> Network<Real>::decide_ignition(std::size_t k, const Real* x, Real omega) const {
  const auto& c = bike_.engine.combustion;
  const auto y = m::volume_at(x + layout_.gas(0, layout_.cylinder(k)), layout_.volumes).mass;
  const Real afr = bike_.fuel.stoichiometric_ratio;
  const Real total = y[m::air] + y[m::vapour] + y[m::droplets] + y[m::burned];
  const Real residual = y[m::burned] / total;
  const Real lambda = y[m::air] / (y[m::vapour] * afr + Real(1e-12));
  const Real fuel = y[m::vapour] + y[m::droplets];
  Ignition<Real> out;
  out.ignited = m::ignited_share(c, lambda, residual);
  out.burn_duration = c.duration * m::duration_factor(lambda) * (1.0 + c.residual_slowing * residual);
  const Real spark = c.retard_error - c.advance(omega);
  const Real start = spark + c.delay_share * out.burn_duration;
  out.burn_start = m::select(start < Real(0), start + Real(4.0 * m::constants::pi), start);
  out.unburnable = fuel - out.ignited * m::burnable_fuel(fuel, y[m::air], afr, c.inhomogeneity);
  return out;
}

}  // namespace glassbowl::sim
