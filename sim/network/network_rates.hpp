#pragma once
#include <cmath>
#include <type_traits>

#include "models/gas/volume.hpp"
#include "sim/network/carburetor_rates.hpp"
#include "sim/network/engine_rates.hpp"
#include "sim/network/gas_path_rates.hpp"
#include "sim/network/instructions.hpp"
#include "sim/network/network_state.hpp"

/// The assembled bike put together: what is computed once, and the order in which its parts answer. Included
/// where a network is built for one kind of value: network.cpp, and the kernel for lanes.
namespace glassbowl::sim {

template <class Real>
Network<Real>::Network(const Bike<Real>& bike) : bike_(bike), layout_(Layout::parts_of(bike)) {
  const auto& path = bike_.path;
  const auto& carb = bike_.carburetor;
  if constexpr (std::is_same_v<Real, double>) evaluation_ = chosen_evaluation();
  gas_ = m::make_gas_data(bike_.fuel);
  rho_f_ = m::liquid_density(bike_.fuel, carb.body_temperature);
  nu_f_ = m::liquid_kinematic_viscosity(bike_.fuel, carb.body_temperature);
  bore_area_ = circle(carb.throttle.bore);
  screw_area_ = m::mixture_screw_area(carb.screw);

  // Staggered grid: pressures at nodes, momentum between them. Half of a runner's first length of gas
  // belongs to the manifold, half of its last to the port.
  const Real runner_area = circle(path.runner_diameter);
  const Real cell_volume = runner_area * path.runner_length / Real(path.runner_cells);
  fixed_volume_.assign(layout_.volumes, Real(0));
  fixed_volume_[Layout::airbox] = path.airbox_volume;
  fixed_volume_[Layout::mixing] = path.mixing_volume;
  fixed_volume_[Layout::manifold] =
      path.manifold_volume + 0.5 * cell_volume * static_cast<double>(layout_.cylinders);
  for (std::size_t k = 0; k < layout_.cylinders; ++k) {
    for (std::size_t i = 0; i < layout_.cells; ++i)
      fixed_volume_[layout_.runner_cell(k, i)] = i + 1 < layout_.cells ? cell_volume : 0.5 * cell_volume;
    fixed_volume_[layout_.exhaust(k)] = path.exhaust_volume;
  }
  fixed_volume_[layout_.silencer()] = path.silencer_volume;

  inertance_.assign(layout_.faces, Real(0));
  inertance_[Layout::filter] = path.inlet_length / circle(path.inlet_diameter);
  inertance_[Layout::bore] = path.bore_length / bore_area_;
  inertance_[Layout::plate] = carb.throttle.bore / bore_area_;
  for (std::size_t k = 0; k < layout_.cylinders; ++k) {
    for (std::size_t i = 0; i < layout_.cells; ++i)
      inertance_[layout_.runner_face(k, i)] = path.runner_length / Real(path.runner_cells) / runner_area;
    inertance_[layout_.intake_valve(k)] = bike_.engine.intake.diameter / circle(bike_.engine.intake.diameter);
    inertance_[layout_.exhaust_valve(k)] =
        bike_.engine.exhaust.diameter / circle(bike_.engine.exhaust.diameter);
    inertance_[layout_.exhaust_pipe(k)] = path.exhaust_length / circle(path.exhaust_diameter);
  }
  inertance_[layout_.outlet()] = path.exhaust_diameter / circle(path.exhaust_diameter);
  for (const Real& V : fixed_volume_) per_volume_.push_back(1.0 / m::greater(V, Real(1e-12)));
  for (std::size_t f = 0; f < layout_.faces; ++f) {
    const Face& face = layout_.connections[f];
    from_.push_back(face.from == outside ? layout_.volumes : face.from);
    to_.push_back(face.to == outside ? layout_.volumes : face.to);
    // What the silencer draws back is what has just left it, not fresh air.
    behind_.push_back(f == layout_.outlet() ? from_.back() : to_.back());
  }
  main_ = m::measure_main_circuit(carb.main, rho_f_, nu_f_, bike_.fuel.surface_tension);
  slow_ = m::measure_channel(carb.slow, carb.main.foot, rho_f_, nu_f_, carb.body_temperature);
  enrichment_ =
      m::measure_channel(carb.enrichment.channel, carb.main.foot, rho_f_, nu_f_, carb.body_temperature);
  for (const auto& port : carb.ports) {
    port_area_.push_back(m::port_discharge * circle(port.diameter) * (1.0 - port.plugged));
    port_position_.push_back(port.position);
  }
  fixed_area_.assign(layout_.faces, Real(0));
  fixed_area_[Layout::filter] = path.filter_area * (1.0 - path.filter_clogged);
  for (std::size_t k = 0; k < layout_.cylinders; ++k) {
    for (std::size_t i = 0; i < layout_.cells; ++i)
      fixed_area_[layout_.runner_face(k, i)] = runner_face_area(path.runner_diameter, layout_.cells);
    fixed_area_[layout_.exhaust_pipe(k)] = circle(path.exhaust_diameter);
  }
  fixed_area_[layout_.outlet()] = path.silencer_area;

  const auto& engine = bike_.engine;
  clearance_ = m::clearance_volume(engine.crank);
  per_piston_area_ = 1.0 / circle(engine.crank.bore);
  intake_per_period_ = 1.0 / (engine.intake.closes - engine.intake.opens);
  exhaust_per_period_ = 1.0 / (engine.exhaust.closes - engine.exhaust.opens);
  intake_per_diameter_ = 1.0 / engine.intake.diameter;
  exhaust_per_diameter_ = 1.0 / engine.exhaust.diameter;
  per_afr_ = 1.0 / bike_.fuel.stoichiometric_ratio;
  per_RT_ = 1.0 / (gas_.R[m::air] * carb.body_temperature);
  const bool in_gear = bike_.load.kind == m::LoadKind::in_gear;
  per_inertia_ = 1.0 / (engine.inertia + (in_gear ? m::reflected_inertia(bike_.load) : Real(0)));
  const Real saturation = m::film_saturation(bike_.film, bike_.fuel);
  manifold_film_ = m::measure_film(bike_.film, saturation, carb.throttle.bore);
  runner_film_ = m::measure_film(bike_.film, saturation, path.runner_diameter);
  per_bore_area_ = 1.0 / bore_area_;
  per_runner_area_ = 1.0 / runner_area;
  per_drop_time_ = 1.0 / path.drop_time;
  const auto outside_air = m::standard_atmosphere(Real(bike_.air.altitude(Real(0))), Real(bike_.air.warmer));
  const Real water = m::moist_air_water_fraction(Real(bike_.air.relative_humidity), outside_air.temperature,
                                                 outside_air.pressure);
  outside_fraction_ = {1.0 - water, Real(0), Real(0), water};
  outside_at_start_ = m::boundary_gas(gas_, outside_air.pressure, outside_air.temperature, outside_fraction_);
}

template <class Real>
Real Network<Real>::cylinder_angle(std::size_t k, Real crank_angle) const {
  constexpr double cycle = 4.0 * m::constants::pi;
  const Real a = crank_angle - Real(bike_.engine.firing[k]);
  return a - cycle * m::whole_below(a * (1.0 / cycle));
}

template <class Real>
void Network<Real>::rates(Real t, const Real* x, const Held<Real>& held, Real* dx, Snapshot<Real>& s) const {
  if constexpr (std::is_same_v<Real, double>)
    evaluation_(*this, t, x, held, dx, s);
  else
    evaluate(t, x, held, dx, s);
}

template <class Real>
void Network<Real>::evaluate(Real t, const Real* x, const Held<Real>& held, Real* dx,
                             Snapshot<Real>& s) const {
  Work w;
  for (std::size_t i = 0; i < layout_.size; ++i) dx[i] = Real(0);
  controls(t, x, s);
  plate(s);
  gas_volumes(x, w, s);
  passages(x, dx, w, s);
  pressures_along_bore(x, dx, w, s);
  air_leak(dx, s);
  piston(x, dx, w, s);
  if (held.ideal_lambda > 0.0) {
    ideal_mixture(x, held.ideal_lambda, dx, s);
  } else {
    carburetor(x, dx, w, s);
    slow_circuit(x, dx, w, s);
    cold_start(x, dx, w, s);
  }
  mixture(x, dx, s);
  engine(t, x, held, dx, w, s);
}

/// Rider, altitude, crank speed.
template <class Real>
void Network<Real>::controls(Real t, const Real* x, Snapshot<Real>& s) const {
  const auto& carb = bike_.carburetor;
  const auto& rider = bike_.rider;
  s.throttle = m::clamp(rider.throttle(t), Real(0), Real(1));
  s.choke = m::clamp(rider.choke(t), Real(0), Real(1));
  s.tap = rider.tap(t);
  s.altitude = bike_.air.altitude(t);
  const Real stop = carb.idle_stop + carb.fast_idle * s.choke;
  s.plate_angle = m::greater(stop, carb.idle_stop + s.throttle * (carb.throttle.open_angle - carb.idle_stop));
  s.omega = m::select(m::speed_is_held(bike_.load, t), bike_.load.speed(t), x[layout_.crank_speed]);
}

}  // namespace glassbowl::sim
