#pragma once
#include <cmath>

#include "models/gas/restriction.hpp"
#include "models/gas/volume.hpp"
#include "sim/network/network.hpp"
#include "sim/network/work.hpp"

/// Gas path of the assembled bike: volumes, passages, pressures along the bore. Included by
/// network_rates.hpp.
namespace glassbowl::sim {

/// Intensive values of every gas volume and the outside air.
template <class Real>
void Network<Real>::gas_volumes(const Real* x, Work& w, Snapshot<Real>& s) const {
  if (bike_.air.altitude.is_constant()) {
    s.outside = outside_at_start_;
  } else {
    const auto air = m::standard_atmosphere(s.altitude, Real(bike_.air.warmer));
    s.outside = m::boundary_gas(gas_, air.pressure, air.temperature, outside_fraction_);
  }
  w.outside_pressure = s.outside.pressure;
  for (std::size_t k = 0; k < layout_.cylinders; ++k) {
    auto& c = s.cylinder[k];
    c.angle = cylinder_angle(k, x[layout_.crank_angle]);
    const auto v = m::cylinder_volume(bike_.engine.crank, clearance_, c.angle);
    c.volume = v.volume;
    w.volume_slope[k] = v.slope;
    s.volume[layout_.cylinder(k)] = v.volume;
    s.per_volume[layout_.cylinder(k)] = 1.0 / v.volume;
  }
  const m::GasData<Real> gas = gas_;
  const std::size_t volumes = layout_.volumes;
  const Real* slots = x + layout_.gas(0, 0);
#pragma GCC ivdep
  for (std::size_t v = 0; v < volumes; ++v)
    s.gas.put(v, m::evaluate_volume(gas, m::volume_at(slots + v, volumes), s.volume[v], s.per_volume[v]));
  s.gas.put(volumes, s.outside);
}

/// Throttle plate: its areas, and how far it lays the ports open. Found anew when it has moved.
template <class Real>
void Network<Real>::plate(Snapshot<Real>& s) const {
  if (m::none(s.plate_angle != s.plate_found_at)) return;
  const auto& carb = bike_.carburetor;
  s.plate_found_at = s.plate_angle;
  s.plate_area = m::throttle_effective_area(carb.throttle, s.plate_angle);
  s.plate_edge = m::throttle_edge_position(carb.throttle, s.plate_angle);
  s.plate_gap = m::throttle_edge_gap(carb.throttle, s.plate_angle);
  for (std::size_t i = 0; i < layout_.ports; ++i)
    s.exposure[i] = m::port_exposure(carb.ports[i], s.plate_edge);
}

/// Effective areas of the passages that change: choke and throat, throttle plate, valves.
template <class Real>
void Network<Real>::areas(const Real* x, Work& w, Snapshot<Real>& s) const {
  using std::sqrt;
  const auto& carb = bike_.carburetor;
  const auto& engine = bike_.engine;
  // Bore: choke plate and throat in series, seen as one restriction.
  w.choke_area = carb.choke.fitted
                     ? m::choke_effective_area(
                           carb.choke, s.choke,
                           m::positive(s.gas.pressure[Layout::airbox] - s.gas.pressure[Layout::mixing]))
                     : Real(10.0) * bore_area_;
  if (carb.kind == CarburetorKind::constant_depression) {
    s.lift = x[layout_.piston];
    s.throat_area = m::piston_throat_area(carb.piston, s.lift);
  } else {
    s.throat_area = circle(carb.venturi.diameter);
  }
  w.throat = carb.venturi.discharge * s.throat_area;
  const Real choke2 = w.choke_area * w.choke_area;
  s.area[Layout::bore] = w.choke_area * w.throat / sqrt(w.throat * w.throat + carb.venturi.loss * choke2);
  s.area[Layout::plate] = s.plate_area;
  for (std::size_t k = 0; k < layout_.cylinders; ++k) {
    auto& c = s.cylinder[k];
    c.intake_lift = m::valve_lift(engine.intake, intake_per_period_, c.angle);
    c.exhaust_lift = m::valve_lift(engine.exhaust, exhaust_per_period_, c.angle);
    s.area[layout_.intake_valve(k)] =
        m::valve_effective_area_at(engine.intake, c.intake_lift * intake_per_diameter_);
    s.area[layout_.exhaust_valve(k)] =
        m::valve_effective_area_at(engine.exhaust, c.exhaust_lift * exhaust_per_diameter_);
  }
}

/// Momentum of the passages from `begin` to `end`, for a gas of one ratio of heat capacities.
template <class Real>
void Network<Real>::momentum(const Real* x, Real* dx, std::size_t begin, std::size_t end,
                             const m::GasFlow& gas, const Snapshot<Real>& s) const {
  const m::GasFlow flow = gas;
  const Real response = bike_.path.response;
  const Real* q = x + layout_.face(0);
  Real* rate = dx + layout_.face(0);
#pragma GCC ivdep
  for (std::size_t f = begin; f < end; ++f) {
    const std::size_t a = from_[f], b = to_[f];
    const Real p_a = s.gas.pressure[a], p_b = s.gas.pressure[b];
    const Real v_a = s.gas.specific_volume[a], v_b = s.gas.specific_volume[b];
    const auto falls = p_a >= p_b;
    const Real drive =
        m::driving_pressure(flow, p_a, p_b, m::select(falls, s.gas.per_pressure[a], s.gas.per_pressure[b]));
    rate[f] = m::restriction_rate(drive, q[f], m::select(q[f] >= Real(0), v_a, v_b),
                                  m::select(falls, v_a, v_b), s.area[f], inertance_[f], response);
  }
}

/// What every passage carries: species and enthalpy of the side it comes from.
template <class Real>
void Network<Real>::carry(const Real* x, Real* dx, Snapshot<Real>& s) const {
  const Real* q = x + layout_.face(0);
  const auto fill = [&](std::vector<Real>& carried, const std::vector<Real>& gas) {
#pragma GCC ivdep
    for (std::size_t f = 0; f < layout_.faces; ++f)
      carried[f] = q[f] * m::select(q[f] >= Real(0), gas[from_[f]], gas[behind_[f]]);
  };
  for (std::size_t i = 0; i < m::species_count; ++i) fill(s.carried[i], s.gas.fraction[i]);
  fill(s.carried[m::energy], s.gas.enthalpy);

  // All but the first and the last face lie between volumes.
  Real* sum = dx + layout_.gas(0, 0);
  const std::size_t apart = layout_.volumes, last = layout_.outlet();
  for (std::size_t i = 0; i <= m::energy; ++i)
    sum[to_[Layout::filter] + i * apart] += s.carried[i][Layout::filter];
  for (std::size_t f = 1; f < last; ++f) {
    Real *a = sum + from_[f], *b = sum + to_[f];
    for (std::size_t i = 0; i <= m::energy; ++i) {
      a[i * apart] -= s.carried[i][f];
      b[i * apart] += s.carried[i][f];
    }
  }
  for (std::size_t i = 0; i <= m::energy; ++i) sum[from_[last] + i * apart] -= s.carried[i][last];
  for (std::size_t f = 0; f < layout_.faces; ++f) dx[layout_.face_enthalpy + f] = s.carried[m::energy][f];
  const auto fuel = [&](std::size_t f) { return s.carried[m::vapour][f] + s.carried[m::droplets][f]; };
  const auto fresh = [&](std::size_t f) { return s.carried[m::air][f]; };
  dx[layout_.fuel_stood_off] -= fuel(Layout::filter);
  dx[layout_.air_filtered] += fresh(Layout::filter);
  dx[layout_.carburetor_air] += fresh(Layout::bore);
  dx[layout_.fuel_exhausted] += fuel(layout_.outlet());
  dx[layout_.air_exhausted] += fresh(layout_.outlet());
}

/// Momentum of every passage, and what it carries.
template <class Real>
void Network<Real>::passages(const Real* x, Real* dx, Work& w, Snapshot<Real>& s) const {
  areas(x, w, s);
  momentum(x, dx, 0, layout_.exhaust_valve(0), fresh_, s);
  momentum(x, dx, layout_.exhaust_valve(0), layout_.faces, spent_, s);
  carry(x, dx, s);
}

/// Pressures along the bore: stagnation behind the choke plate, static in the throat. The gas column's
/// acceleration between inlet and throat (about half of the bore) shows there too.
template <class Real>
void Network<Real>::pressures_along_bore(const Real* x, Real* dx, Work& w, Snapshot<Real>& s) const {
  const auto& carb = bike_.carburetor;
  const Real q = x[layout_.face(Layout::bore)];
  const auto up = s.gas[Layout::airbox], down = s.gas[Layout::mixing];
  const Real rho = m::select(q >= Real(0), up.density, down.density);
  const Real volume = m::select(q >= Real(0), up.specific_volume, down.specific_volume);
  const Real choke_drop = 0.5 * q * m::absolute(q) * volume / (w.choke_area * w.choke_area);
  s.inlet_pressure = m::greater(up.pressure - choke_drop, 0.4 * up.pressure);
  const Real depression = m::throat_depression(q, rho, m::greater(s.inlet_pressure, down.pressure), w.throat);
  const Real recovered = m::select(q >= Real(0), Real(0), carb.venturi.loss * depression);
  const Real column = 0.5 * inertance_[Layout::bore] * dx[layout_.face(Layout::bore)];
  s.throat_pressure = m::greater(s.inlet_pressure - depression + recovered - column, 0.2 * up.pressure);
  s.nozzle_pressure =
      m::greater(s.throat_pressure - (carb.venturi.signal - 1.0) * depression, 0.2 * up.pressure);
  s.depression = up.pressure - s.nozzle_pressure;
  dx[layout_.depression] = s.depression;
  dx[layout_.manifold_pressure] = s.gas.pressure[Layout::manifold];
}

/// Air leak into the manifold.
template <class Real>
void Network<Real>::air_leak(Real* dx, const Snapshot<Real>& s) const {
  const auto& path = bike_.path;
  if (m::none(path.manifold_leak > Real(0))) return;
  const auto manifold = s.gas[Layout::manifold];
  const Real leak = m::orifice_flow(fresh_, path.manifold_leak, s.outside.pressure, s.outside.density,
                                    manifold.pressure, manifold.density, Real(50.0));
  const auto donor = m::carried(leak >= Real(0), s.outside, manifold);
  for (std::size_t i = 0; i < m::species_count; ++i)
    dx[layout_.gas(i, Layout::manifold)] += leak * donor.fraction[i];
  dx[layout_.gas(m::energy, Layout::manifold)] += leak * donor.enthalpy;
  dx[layout_.other_energy + Layout::manifold] += leak * donor.enthalpy;
  dx[layout_.air_leaked] += leak * donor.fraction[m::air];
  dx[layout_.fuel_stood_off] -= leak * (donor.fraction[m::vapour] + donor.fraction[m::droplets]);
}

/// Mass of one species into a volume at a temperature of its own.
template <class Real>
void Network<Real>::add_species(std::size_t v, m::Species species, Real mass_rate, Real temperature,
                                Real* dx) const {
  const Real H = mass_rate * m::enthalpy(gas_, species, temperature);
  dx[layout_.gas(species, v)] += mass_rate;
  dx[layout_.gas(m::energy, v)] += H;
  dx[layout_.other_energy + v] += H;
}

/// Air between a volume and a small passage at body temperature. What is drawn is the volume's air; the
/// little fuel and burned gas that would come along is left behind.
template <class Real>
void Network<Real>::exchange_air(std::size_t v, Real into, const Snapshot<Real>& s, Real* dx) const {
  add_species(v, m::air, into,
              m::select(into >= Real(0), bike_.carburetor.body_temperature, s.gas.temperature[v]), dx);
}

/// Liquid fuel sprayed into a volume as droplets at body temperature.
template <class Real>
void Network<Real>::deliver(std::size_t v, Real fuel, Real* dx) const {
  add_species(v, m::droplets, fuel, bike_.carburetor.body_temperature, dx);
}

}  // namespace glassbowl::sim
