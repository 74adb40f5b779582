#pragma once
#include <array>
#include <cmath>

#include "models/engine/wall_heat.hpp"
#include "models/gas/volume.hpp"
#include "sim/network/balances.hpp"
#include "sim/network/discrete_state.hpp"
#include "sim/network/outputs.hpp"

namespace glassbowl::sim {

template <class Real>
using PerCylinder = std::array<Real, max_cylinders>;

template <class Real>
struct CylinderPosition {
  Real angle;   ///< [rad] 0..4π from its own firing top dead centre
  Real volume;  ///< [m³]
  Real slope;   ///< [m³/rad]
};
template <class Real>
using CylinderPositions = PerCylinder<CylinderPosition<Real>>;

template <class Real>
struct ValvePair {
  Real intake_lift, exhaust_lift;  ///< [m]
  Real intake, exhaust;            ///< [m²] effective areas
};
template <class Real>
using ValveAreas = PerCylinder<ValvePair<Real>>;

/// Cylinders and crankshaft.
template <class Real>
class CylinderStages {
 public:
  CylinderStages(const Bike<Real>& bike, const StateMap& states);

  /// Angle of cylinder k's own cycle, 0..4π from its firing top dead centre.
  Real angle(std::size_t k, Real crank_angle) const;
  CylinderPositions<Real> positions(Real crank_angle) const;
  ValveAreas<Real> valves(const CylinderPositions<Real>& positions) const;
  Real crank_speed(Real t, const m::CrankState<Real>& crank) const;
  /// Combustion, wall heat and work of every cylinder. Returns the gas's torque [N m].
  Real burn(const Real* x, const DiscreteState<Real>& discrete, const CylinderPositions<Real>& positions,
            Real omega, const GasColumns<Real>& gas, Balances<Real>& balances, EngineTotals<Real>& totals,
            Outputs<Real>* out) const;
  CrankOutputs<Real> torques(Real omega, Real indicated, Real starter) const;
  m::CrankState<Real> crank_rate(Real t, const CrankOutputs<Real>& torques, Real outside_density) const;

  /// Decided a little before the spark, when the charge is closed in: when and how fast it will burn, and
  /// how much of its fuel finds air.
  Ignition<Real> decide_ignition(std::size_t k, const Real* x, Real omega) const;

 private:
  Real piston_speed(Real omega) const {
    return m::absolute(omega) * bike_.engine.crank.stroke * (1.0 / m::constants::pi);
  }
  static Real turning(Real omega) {  // direction, without a jump at standstill
    using std::sqrt;
    return omega / sqrt(omega * omega + Real(1.0));
  }

  const Bike<Real>& bike_;
  const StateMap& states_;
  Real clearance_;                                   // [m³]
  Real per_piston_area_;                             // [1/m²]
  Real intake_per_period_, exhaust_per_period_;      // [1/rad]
  Real intake_per_diameter_, exhaust_per_diameter_;  // [1/m]
  Real per_afr_;                                     // [-]
  Real per_inertia_;                                 // [1/(kg m²)] of crank and what it drives
};

template <class Real>
CylinderStages<Real>::CylinderStages(const Bike<Real>& bike, const StateMap& states)
    : bike_(bike), states_(states) {
  const auto& engine = bike.engine;
  clearance_ = m::clearance_volume(engine.crank);
  per_piston_area_ = 1.0 / circle(engine.crank.bore);
  intake_per_period_ = 1.0 / (engine.intake.closes - engine.intake.opens);
  exhaust_per_period_ = 1.0 / (engine.exhaust.closes - engine.exhaust.opens);
  intake_per_diameter_ = 1.0 / engine.intake.diameter;
  exhaust_per_diameter_ = 1.0 / engine.exhaust.diameter;
  per_afr_ = 1.0 / bike.fuel.stoichiometric_ratio;
  const bool in_gear = bike.load.kind == m::LoadKind::in_gear;
  per_inertia_ = 1.0 / (engine.inertia + (in_gear ? m::reflected_inertia(bike.load) : Real(0)));
}

template <class Real>
Real CylinderStages<Real>::angle(std::size_t k, Real crank_angle) const {
  constexpr double cycle = 4.0 * m::constants::pi;
  const Real a = crank_angle - Real(bike_.engine.firing[k]);
  return a - cycle * m::whole_below(a * (1.0 / cycle));
}

template <class Real>
CylinderPositions<Real> CylinderStages<Real>::positions(Real crank_angle) const {
  CylinderPositions<Real> out;
  for (std::size_t k = 0; k < states_.cylinders; ++k) {
    const Real own = angle(k, crank_angle);
    const auto v = m::cylinder_volume(bike_.engine.crank, clearance_, own);
    out[k] = {own, v.volume, v.slope};
  }
  return out;
}

template <class Real>
ValveAreas<Real> CylinderStages<Real>::valves(const CylinderPositions<Real>& positions) const {
  const auto &intake = bike_.engine.intake, &exhaust = bike_.engine.exhaust;
  ValveAreas<Real> out;
  for (std::size_t k = 0; k < states_.cylinders; ++k) {
    auto& valve = out[k];
    valve.intake_lift = m::valve_lift(intake, intake_per_period_, positions[k].angle);
    valve.exhaust_lift = m::valve_lift(exhaust, exhaust_per_period_, positions[k].angle);
    valve.intake = m::valve_effective_area_at(intake, valve.intake_lift * intake_per_diameter_);
    valve.exhaust = m::valve_effective_area_at(exhaust, valve.exhaust_lift * exhaust_per_diameter_);
  }
  return out;
}

template <class Real>
Real CylinderStages<Real>::crank_speed(Real t, const m::CrankState<Real>& crank) const {
  return m::select(m::speed_is_held(bike_.load, t), bike_.load.speed(t), crank.speed);
}

template <class Real>
Real CylinderStages<Real>::burn(const Real* x, const DiscreteState<Real>& discrete,
                                const CylinderPositions<Real>& positions, Real omega,
                                const GasColumns<Real>& columns, Balances<Real>& balances,
                                EngineTotals<Real>& totals, Outputs<Real>* out) const {
  const auto& e = bike_.engine;
  const Real piston_area = circle(e.crank.bore);
  const Real speed = piston_speed(omega);
  const Real afr = bike_.fuel.stoichiometric_ratio;
  const Real outside_pressure = columns.pressure[states_.volumes.count];
  Real torque = Real(0);
  for (std::size_t k = 0; k < states_.cylinders; ++k) {
    const std::size_t v = states_.volumes.cylinders[k];
    const auto y = states_.gas.load(x, v).mass;
    const auto& position = positions[k];
    const auto gas = columns[v];

    // Burning moves mass only; the energy is in the species.
    const auto& ignition = discrete.ignition[k];
    Real angle = position.angle - ignition.burn_start;
    angle = m::select(angle < Real(0), angle + Real(4.0 * m::constants::pi), angle);
    const Real per_duration = 1.0 / ignition.burn_duration;
    const Real hazard = m::wiebe_hazard(angle * per_duration) * omega * per_duration;
    const Real left = m::min(y[m::vapour], y[m::vapour] + y[m::droplets] - ignition.unburnable);
    const Real burned = hazard * m::positive_part(m::min(left, y[m::air] * per_afr_));
    balances.take(v, m::vapour, burned);
    balances.take(v, m::air, burned * afr);
    balances.add(v, m::burned, burned * (1.0 + afr));
    totals.fuel_burned += burned;
    totals.air_burned += burned * afr;

    const Real height = position.volume * per_piston_area_;
    const Real area = Real(2.2) * piston_area + m::constants::pi * e.crank.bore * height;
    const Real wall_heat = e.heat_factor * area * (gas.temperature - e.wall_temperature) *
                           m::hohenberg_coefficient(position.volume, gas.pressure, gas.temperature, speed);
    const Real power = gas.pressure * position.slope * omega;
    balances.take_energy(v, power + wall_heat);
    torque += (gas.pressure - outside_pressure) * position.slope;
    if (out != nullptr) {
      out->cylinder[k].burn_rate = burned;
      out->cylinder[k].wall_heat = wall_heat;
    }
  }
  return torque;
}

template <class Real>
CrankOutputs<Real> CylinderStages<Real>::torques(Real omega, Real indicated, Real starter) const {
  const auto& e = bike_.engine;
  const Real swept = m::displacement(e.crank) * static_cast<double>(states_.cylinders);
  CrankOutputs<Real> out;
  out.omega = omega;
  out.indicated = indicated;
  out.friction =
      turning(omega) * m::friction_mep(e.friction, piston_speed(omega)) * swept * (0.25 / m::constants::pi);
  out.brake = indicated - out.friction;
  out.starter = starter * e.starter_torque * m::positive_part(1.0 - omega / e.starter_speed);
  return out;
}

template <class Real>
m::CrankState<Real> CylinderStages<Real>::crank_rate(Real t, const CrankOutputs<Real>& torques,
                                                     Real outside_density) const {
  Real load = Real(0);
  if (bike_.load.kind == m::LoadKind::in_gear)
    load = turning(torques.omega) * m::road_torque(bike_.load, torques.omega, outside_density);
  const Real acceleration = (torques.brake + torques.starter - load) * per_inertia_;
  return {torques.omega, m::select(m::speed_is_held(bike_.load, t), Real(0), acceleration)};
}

template <class Real>
Ignition<Real> CylinderStages<Real>::decide_ignition(std::size_t k, const Real* x, Real omega) const {
  const auto& c = bike_.engine.combustion;
  const auto y = states_.gas.load(x, states_.volumes.cylinders[k]).mass;
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
