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
void Network<Real>::gas_volumes(Real, const Real* x, Work& w, Snapshot<Real>& s) const {
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
    w.per_volume[k] = 1.0 / v.volume;
    w.volume_slope[k] = v.slope;
  }
  const std::size_t first_cylinder = layout_.cylinder(0);
  for (std::size_t v = 0; v < layout_.volumes; ++v) {
    const bool is_cylinder = v >= first_cylinder && v < first_cylinder + layout_.cylinders;
    const auto state = m::volume_at(x + layout_.volume(v));
    s.gas[v] = is_cylinder ? m::evaluate_volume(gas_, state, s.cylinder[v - first_cylinder].volume,
                                                w.per_volume[v - first_cylinder])
                           : m::evaluate_volume(gas_, state, fixed_volume_[v], per_volume_[v]);
  }
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

/// Momentum of every passage, and what it carries.
template <class Real>
void Network<Real>::passages(const Real* x, Real* dx, Work& w, Snapshot<Real>& s) const {
  using std::sqrt;
  const auto& carb = bike_.carburetor;
  const auto& path = bike_.path;
  const auto& engine = bike_.engine;

  // Bore: choke plate and throat in series, seen as one restriction.
  const Real q_bore = x[layout_.face(Layout::bore)];
  const auto& up = s.gas[Layout::airbox];
  const auto& down = s.gas[Layout::mixing];
  const Real rho_bore = m::select(q_bore >= Real(0), up.density, down.density);
  const Real volume_bore = m::select(q_bore >= Real(0), up.specific_volume, down.specific_volume);
  w.choke_area = carb.choke.fitted
                     ? m::choke_effective_area(carb.choke, s.choke, m::positive(up.pressure - down.pressure))
                     : Real(10.0) * bore_area_;
  if (carb.kind == CarburetorKind::constant_depression) {
    s.lift = x[layout_.piston];
    s.throat_area = m::piston_throat_area(carb.piston, s.lift);
  } else {
    s.throat_area = circle(carb.venturi.diameter);
  }
  const Real throat = carb.venturi.discharge * s.throat_area;
  const Real choke2 = w.choke_area * w.choke_area;
  const Real bore_area = w.choke_area * throat / sqrt(throat * throat + carb.venturi.loss * choke2);

  for (std::size_t k = 0; k < layout_.cylinders; ++k) {
    auto& c = s.cylinder[k];
    c.intake_lift = m::valve_lift(engine.intake, intake_per_period_, c.angle);
    c.exhaust_lift = m::valve_lift(engine.exhaust, exhaust_per_period_, c.angle);
  }

  for (std::size_t f = 0; f < layout_.faces; ++f) {
    const Face& face = layout_.connections[f];
    const auto& a = face.from == outside ? s.outside : s.gas[face.from];
    const auto& b = face.to == outside ? s.outside : s.gas[face.to];
    const Real q = x[layout_.face(f)];
    const bool exhaust_side = f >= layout_.exhaust_valve(0);
    Real area = fixed_area_[f];
    if (f == Layout::bore)
      area = bore_area;
    else if (f == Layout::plate)
      area = s.plate_area;
    else if (f >= layout_.intake_valve(0) && f < layout_.exhaust_valve(0))
      area = m::valve_effective_area_at(
          engine.intake, s.cylinder[f - layout_.intake_valve(0)].intake_lift * intake_per_diameter_);
    else if (f >= layout_.exhaust_valve(0) && f < layout_.exhaust_pipe(0))
      area = m::valve_effective_area_at(
          engine.exhaust, s.cylinder[f - layout_.exhaust_valve(0)].exhaust_lift * exhaust_per_diameter_);
    const auto falls = a.pressure >= b.pressure;
    const Real drive = m::driving_pressure(exhaust_side ? spent_ : fresh_, a.pressure, b.pressure,
                                           m::select(falls, a.per_pressure, b.per_pressure));
    dx[layout_.face(f)] = m::restriction_rate(
        drive, q, m::select(q >= Real(0), a.specific_volume, b.specific_volume),
        m::select(falls, a.specific_volume, b.specific_volume), area, inertance_[f], path.response);

    // What is carried: species and enthalpy of the side it comes from.
    // What the silencer draws back is what has just left it, not fresh air.
    const auto donor = m::carried(q >= Real(0), a, f == layout_.outlet() ? a : b);
    const Real H = q * donor.enthalpy;
    if (face.from != outside) {
      Real* y = dx + layout_.volume(face.from);
      for (std::size_t i = 0; i < m::species_count; ++i) y[i] -= q * donor.fraction[i];
      y[4] -= H;
    }
    if (face.to != outside) {
      Real* y = dx + layout_.volume(face.to);
      for (std::size_t i = 0; i < m::species_count; ++i) y[i] += q * donor.fraction[i];
      y[4] += H;
    }
    dx[layout_.face_enthalpy + f] = H;
    const Real fuel = q * (donor.fraction[m::vapour] + donor.fraction[m::droplets]);
    const Real fresh = q * donor.fraction[m::air];
    if (f == Layout::filter) {
      dx[layout_.fuel_stood_off] -= fuel;
      dx[layout_.air_filtered] += fresh;
    } else if (f == Layout::bore) {
      dx[layout_.carburetor_air] += fresh;
    } else if (f == layout_.outlet()) {
      dx[layout_.fuel_exhausted] += fuel;
      dx[layout_.air_exhausted] += fresh;
    }
  }

  // Pressures along the bore: stagnation behind the choke plate, static in the throat. The gas column's
  // acceleration between inlet and throat (about half of the bore) shows there too.
  const Real choke_drop = 0.5 * q_bore * m::absolute(q_bore) * volume_bore / choke2;
  s.inlet_pressure = m::greater(up.pressure - choke_drop, 0.4 * up.pressure);
  const Real depression =
      m::throat_depression(q_bore, rho_bore, m::greater(s.inlet_pressure, down.pressure), throat);
  const Real recovered = m::select(q_bore >= Real(0), Real(0), carb.venturi.loss * depression);
  const Real column = 0.5 * inertance_[Layout::bore] * dx[layout_.face(Layout::bore)];
  s.throat_pressure = m::greater(s.inlet_pressure - depression + recovered - column, 0.2 * up.pressure);
  s.nozzle_pressure =
      m::greater(s.throat_pressure - (carb.venturi.signal - 1.0) * depression, 0.2 * up.pressure);
  s.depression = up.pressure - s.nozzle_pressure;

  // Air leak into the manifold.
  const auto& manifold = s.gas[Layout::manifold];
  dx[layout_.manifold_pressure] = manifold.pressure;
  dx[layout_.depression] = s.depression;
  if (m::none(path.manifold_leak > Real(0))) return;
  const Real leak = m::orifice_flow(fresh_, path.manifold_leak, s.outside.pressure, s.outside.density,
                                    manifold.pressure, manifold.density, Real(50.0));
  const auto donor = m::carried(leak >= Real(0), s.outside, manifold);
  Real* y = dx + layout_.volume(Layout::manifold);
  for (std::size_t i = 0; i < m::species_count; ++i) y[i] += leak * donor.fraction[i];
  y[4] += leak * donor.enthalpy;
  dx[layout_.other_energy + Layout::manifold] += leak * donor.enthalpy;
  dx[layout_.air_leaked] += leak * donor.fraction[m::air];
  dx[layout_.fuel_stood_off] -= leak * (donor.fraction[m::vapour] + donor.fraction[m::droplets]);
}

/// Mass of one species into a volume at a temperature of its own.
template <class Real>
void Network<Real>::add_species(std::size_t v, m::Species species, Real mass_rate, Real temperature,
                                Real* dx) const {
  const Real H = mass_rate * m::enthalpy(gas_, species, temperature);
  dx[layout_.volume(v) + species] += mass_rate;
  dx[layout_.volume(v) + 4] += H;
  dx[layout_.other_energy + v] += H;
}

/// Air between a volume and a small passage at body temperature. What is drawn is the volume's air; the
/// little fuel and burned gas that would come along is left behind.
template <class Real>
void Network<Real>::exchange_air(std::size_t v, Real into, const Snapshot<Real>& s, Real* dx) const {
  add_species(v, m::air, into,
              m::select(into >= Real(0), bike_.carburetor.body_temperature, s.gas[v].temperature), dx);
}

/// Liquid fuel sprayed into a volume as droplets at body temperature.
template <class Real>
void Network<Real>::deliver(std::size_t v, Real fuel, Real* dx) const {
  add_species(v, m::droplets, fuel, bike_.carburetor.body_temperature, dx);
}

}  // namespace glassbowl::sim
