#pragma once
#include "models/gas/volume.hpp"
#include "sim/network/network.hpp"
#include "sim/network/work.hpp"

/// Starting state and inventories of the assembled bike. Included by network_rates.hpp.
namespace glassbowl::sim {

template <class Real>
std::vector<Real> Network<Real>::state_at_rest() const {
  const auto& carb = bike_.carburetor;
  std::vector<Real> x(layout_.size, Real(0));
  const auto air = m::standard_atmosphere(Real(bike_.air.altitude(Real(0))), Real(bike_.air.warmer));
  const auto put = [&](std::size_t v, Real V, Real T) {
    m::put_volume(m::fill_volume(gas_, V, air.pressure, T, outside_fraction_), x.data() + layout_.gas(0, v),
                  layout_.volumes);
  };
  x[layout_.crank_speed] = bike_.load.speed(Real(0));
  for (std::size_t v = 0; v < layout_.volumes; ++v)
    if (v < layout_.cylinder(0) || v >= layout_.exhaust(0)) put(v, fixed_volume_[v], air.temperature);
  for (std::size_t k = 0; k < layout_.cylinders; ++k) {
    const Real angle = cylinder_angle(k, Real(0));
    put(layout_.cylinder(k), m::cylinder_volume(bike_.engine.crank, angle).volume, air.temperature);
  }

  // A float bent far enough shuts its valve before any fuel comes in.
  const Real level = m::greater(carb.bowl.level + carb.bowl.float_error, -carb.bowl.depth);
  x[layout_.bowl] = rho_f_ * carb.bowl.area * (level + carb.bowl.depth);
  const auto main = m::main_circuit_at_rest(carb.main, level, rho_f_);
  x[layout_.main + 1] = main.well;
  x[layout_.main + 4] = main.riser;
  const auto rest = [&](std::size_t at, const m::EmulsionChannel<Real>& channel) {
    const auto state =
        m::channel_at_rest(channel, level, carb.main.foot, rho_f_, air.pressure, carb.body_temperature);
    x[at + 1] = state.riser;
    x[at + 2] = state.liquid;
    x[at + 3] = state.gas;
  };
  rest(layout_.slow, carb.slow);
  if (layout_.enrichment != absent) rest(layout_.enrichment, carb.enrichment.channel);
  if (layout_.pump != absent)
    x[layout_.pump] = m::pump_cam_travel(carb.pump, Real(bike_.rider.throttle(Real(0))));
  if (layout_.piston != absent)
    x[layout_.piston + 2] = air.pressure * m::piston_chamber_volume(carb.piston, Real(0)) /
                            (gas_.R[m::air] * carb.body_temperature);
  return x;
}

template <class Real>
Held<Real> Network<Real>::held_at_rest() const {
  Held<Real> held;
  held.ignition.resize(layout_.cylinders);
  return held;
}

template <class Real>
Snapshot<Real> Network<Real>::make_snapshot() const {
  Snapshot<Real> s;
  s.volume = fixed_volume_;
  s.per_volume = per_volume_;
  s.gas.resize(layout_.volumes + 1);
  s.area = fixed_area_;
  for (auto& column : s.carried) column.resize(layout_.faces);
  s.cylinder.resize(layout_.cylinders);
  s.film.resize(layout_.cylinders);
  s.port.resize(layout_.ports);
  s.exposure.resize(layout_.ports);
  return s;
}

template <class Real>
Real Network<Real>::fuel_held(const Real* x) const {
  Real sum = x[layout_.tank] + x[layout_.bowl] + x[layout_.main + 1] + x[layout_.main + 4] +
             x[layout_.slow + 1] + x[layout_.slow + 2];
  for (std::size_t v = 0; v < layout_.volumes; ++v)
    sum += x[layout_.gas(m::vapour, v)] + x[layout_.gas(m::droplets, v)];
  for (std::size_t k = 0; k < layout_.cylinders; ++k) sum += x[layout_.film(k)];
  if (layout_.pump != absent) sum -= rho_f_ * m::pump_area(bike_.carburetor.pump) * x[layout_.pump];
  if (layout_.enrichment != absent) sum += x[layout_.enrichment + 1] + x[layout_.enrichment + 2];
  return sum;
}

template <class Real>
Real Network<Real>::air_held(const Real* x) const {
  Real sum = x[layout_.slow + 3];
  for (std::size_t v = 0; v < layout_.volumes; ++v) sum += x[layout_.gas(m::air, v)];
  if (layout_.enrichment != absent) sum += x[layout_.enrichment + 3];
  if (layout_.piston != absent) sum += x[layout_.piston + 2];
  return sum;
}

}  // namespace glassbowl::sim
