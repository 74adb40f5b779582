#pragma once
#include <array>
#include <cmath>
#include <vector>

#include "models/fluids/atmosphere.hpp"
#include "models/gas/restriction.hpp"
#include "models/gas/volume.hpp"
#include "sim/network/balances.hpp"
#include "sim/network/cylinder_stages.hpp"
#include "sim/network/outputs.hpp"

namespace glassbowl::sim {

/// Effective area of one passage along a runner [m²]: wall friction and bend lumped as one velocity head over
/// the whole length, shared by the passages.
template <class Real>
Real runner_passage_area(Real diameter, std::size_t cells) {
  using std::sqrt;
  return circle(diameter) * sqrt(Real(static_cast<double>(cells)));
}

/// Gas path of the assembled bike: volumes, passages and what they carry.
template <class Real>
class GasPathStages {
 public:
  GasPathStages(const Bike<Real>& bike, const StateMap& states, const m::GasData<Real>& gas);

  m::Gas<Real> outside_air(Real altitude) const;
  const m::PerSpecies<Real>& outside_fraction() const { return outside_fraction_; }
  Real fixed_volume(std::size_t volume) const { return fixed_volume_[volume]; }  ///< [m³]

  /// Its own part of the scratch, with what never changes.
  void prepare(Scratch<Real>& scratch) const;

  /// Intensive values of every gas volume and, last, of the outside air.
  const GasColumns<Real>& volumes(const Real* x, const CylinderPositions<Real>& cylinders,
                                  const m::Gas<Real>& air, Scratch<Real>& scratch) const;
  /// Effective areas of all passages: fixed ones, and those that are given.
  const std::vector<Real>& areas(const std::vector<CarburetorAreas<Real>>& carburetors,
                                 const ValveAreas<Real>& valves, std::vector<Real>& area) const;
  /// Rates of change of all passages' flows. Returns them as they lie in `dx`.
  const Real* momentum(const Real* x, const GasColumns<Real>& gas, const std::vector<Real>& area,
                       Real* dx) const;
  /// What every passage carries: species and enthalpy of the side it comes from.
  using Carried = std::array<std::vector<Real>, m::species_count + 1>;
  const Carried& carry(const Real* x, const GasColumns<Real>& gas, Carried& carried) const;
  /// Adds what is carried to the balances and, of both ends, to the totals.
  void exchange(const Carried& carried, Balances<Real>& balances, EngineTotals<Real>& totals, Real* dx) const;
  /// Air leak into a manifold.
  void leak(std::size_t manifold, const m::Gas<Real>& air, const m::Gas<Real>& gas, Balances<Real>& balances,
            EngineTotals<Real>& totals) const;

 private:
  void momentum_of(const IndexRange& passages, const m::GasFlow& gas, const Real* x,
                   const GasColumns<Real>& columns, const std::vector<Real>& area, Real* dx) const;

  const Bike<Real>& bike_;
  const StateMap& states_;
  const m::GasData<Real>& gas_;
  m::GasFlow fresh_{fresh_gamma}, spent_{spent_gamma};
  std::vector<Real> fixed_volume_, per_volume_;  // [m³], [1/m³]; of cylinders they change
  std::vector<Real> fixed_area_;                 // [m²] effective, per passage; zero for those that change
  std::vector<Real> inertance_;                  // per passage [1/m]
  std::vector<std::size_t> from_, to_;           // ends of each passage among the gas columns
  std::vector<std::size_t> behind_;              // where what flows back comes from
  m::PerSpecies<Real> outside_fraction_;
  m::Gas<Real> outside_at_start_;
};

template <class Real>
GasPathStages<Real>::GasPathStages(const Bike<Real>& bike, const StateMap& states,
                                   const m::GasData<Real>& gas)
    : bike_(bike), states_(states), gas_(gas) {
  const auto& path = bike.path;
  const auto& carb = bike.carburetor;
  const auto& engine = bike.engine;
  const auto& v = states.volumes;
  const auto& p = states.passages;
  const Real bore_area = circle(carb.throttle.bore);

  // Staggered grid: pressures at nodes, momentum between them. Half of a runner's first length of gas
  // belongs to the manifold, half of its last to the port.
  const Real runner_area = circle(path.runner_diameter);
  const Real cell_volume = runner_area * path.runner_length / Real(path.runner_cells);
  fixed_volume_.assign(v.count, Real(0));
  fixed_volume_[Volumes::airbox] = path.airbox_volume;
  fixed_volume_[v.silencer] = path.silencer_volume;
  fixed_area_.assign(p.count, Real(0));
  fixed_area_[Passages::filter] = path.filter_area * (1.0 - path.filter_clogged);
  fixed_area_[p.outlet] = path.silencer_area;
  inertance_.assign(p.count, Real(0));
  inertance_[Passages::filter] = path.inlet_length / circle(path.inlet_diameter);
  inertance_[p.outlet] = path.exhaust_diameter / circle(path.exhaust_diameter);
  for (const auto& at : states.carburetors) {
    fixed_volume_[at.mixing] = path.mixing_volume;
    fixed_volume_[at.manifold] =
        path.manifold_volume + 0.5 * cell_volume * static_cast<double>(states.cylinders);
    inertance_[at.bore] = path.bore_length / bore_area;
    inertance_[at.plate] = carb.throttle.bore / bore_area;
  }
  for (std::size_t k = 0; k < states.cylinders; ++k) {
    for (std::size_t i = 0; i < v.cells; ++i) {
      fixed_volume_[v.runner(k, i)] = i + 1 < v.cells ? cell_volume : 0.5 * cell_volume;
      fixed_area_[p.runner(k, i)] = runner_passage_area(path.runner_diameter, v.cells);
      inertance_[p.runner(k, i)] = path.runner_length / Real(path.runner_cells) / runner_area;
    }
    fixed_volume_[v.exhausts[k]] = path.exhaust_volume;
    inertance_[p.intake_valves[k]] = engine.intake.diameter / circle(engine.intake.diameter);
    inertance_[p.exhaust_valves[k]] = engine.exhaust.diameter / circle(engine.exhaust.diameter);
    fixed_area_[p.exhaust_pipes[k]] = circle(path.exhaust_diameter);
    inertance_[p.exhaust_pipes[k]] = path.exhaust_length / circle(path.exhaust_diameter);
  }
  for (const Real& V : fixed_volume_) per_volume_.push_back(1.0 / m::max(V, Real(1e-12)));
  for (std::size_t f = 0; f < p.count; ++f) {
    const auto column = [&](std::size_t volume) { return volume == outside ? v.count : volume; };
    from_.push_back(column(p.ends[f].from));
    to_.push_back(column(p.ends[f].to));
    // What the silencer draws back is what has just left it, not fresh air.
    behind_.push_back(f == p.outlet ? from_.back() : to_.back());
  }

  const auto air = m::standard_atmosphere(Real(bike.air.altitude(Real(0))), Real(bike.air.warmer));
  const Real water =
      m::moist_air_water_fraction(Real(bike.air.relative_humidity), air.temperature, air.pressure);
  outside_fraction_ = {1.0 - water, Real(0), Real(0), water};
  outside_at_start_ = m::boundary_gas(gas, air.pressure, air.temperature, outside_fraction_);
}

template <class Real>
void GasPathStages<Real>::prepare(Scratch<Real>& scratch) const {
  scratch.volume = fixed_volume_;
  scratch.per_volume = per_volume_;
  scratch.area = fixed_area_;
  scratch.gas.resize(states_.volumes.count + 1);
  for (auto& column : scratch.carried) column.resize(states_.passages.count);
}

template <class Real>
m::Gas<Real> GasPathStages<Real>::outside_air(Real altitude) const {
  if (bike_.air.altitude.is_constant()) return outside_at_start_;
  const auto air = m::standard_atmosphere(altitude, Real(bike_.air.warmer));
  return m::boundary_gas(gas_, air.pressure, air.temperature, outside_fraction_);
}

template <class Real>
const GasColumns<Real>& GasPathStages<Real>::volumes(const Real* x, const CylinderPositions<Real>& cylinders,
                                                     const m::Gas<Real>& air, Scratch<Real>& scratch) const {
  GasColumns<Real>& gas = scratch.gas;
  for (std::size_t k = 0; k < states_.cylinders; ++k) {
    const std::size_t v = states_.volumes.cylinders[k];
    scratch.volume[v] = cylinders[k].volume;
    scratch.per_volume[v] = 1.0 / cylinders[k].volume;
  }
  const m::GasData<Real> data = gas_;
  const GasStates states = states_.gas;
  const std::size_t count = states_.volumes.count;
#pragma GCC ivdep
  for (std::size_t v = 0; v < count; ++v)
    gas.put(v, m::evaluate_volume(data, states.load(x, v), scratch.volume[v], scratch.per_volume[v]));
  gas.put(count, air);
  return gas;
}

template <class Real>
const std::vector<Real>& GasPathStages<Real>::areas(const std::vector<CarburetorAreas<Real>>& carburetors,
                                                    const ValveAreas<Real>& valves,
                                                    std::vector<Real>& area) const {
  for (std::size_t c = 0; c < carburetors.size(); ++c) {
    area[states_.carburetors[c].bore] = carburetors[c].bore;
    area[states_.carburetors[c].plate] = carburetors[c].plate;
  }
  for (std::size_t k = 0; k < states_.cylinders; ++k) {
    area[states_.passages.intake_valves[k]] = valves[k].intake;
    area[states_.passages.exhaust_valves[k]] = valves[k].exhaust;
  }
  return area;
}

/// For a gas of one ratio of heat capacities.
template <class Real>
void GasPathStages<Real>::momentum_of(const IndexRange& passages, const m::GasFlow& gas, const Real* x,
                                      const GasColumns<Real>& columns, const std::vector<Real>& area,
                                      Real* dx) const {
  const m::GasFlow flow = gas;
  const Real response = bike_.path.response;
  const Real* q = x + states_.passages.flow.begin;
  Real* rate = dx + states_.passages.flow.begin;
  const std::size_t *from = from_.data(), *to = to_.data(), end = passages.end();
  const Real *pressure = columns.pressure.data(), *per_pressure = columns.per_pressure.data(),
             *volume = columns.specific_volume.data(), *A = area.data(), *inertance = inertance_.data();
#pragma GCC ivdep
  for (std::size_t f = passages.begin; f < end; ++f) {
    const std::size_t a = from[f], b = to[f];
    const Real p_a = pressure[a], p_b = pressure[b], v_a = volume[a], v_b = volume[b];
    const auto falls = p_a >= p_b;
    const Real drive =
        m::driving_pressure(flow, p_a, p_b, m::select(falls, per_pressure[a], per_pressure[b]));
    rate[f] = m::restriction_rate(drive, q[f], m::select(q[f] >= Real(0), v_a, v_b),
                                  m::select(falls, v_a, v_b), A[f], inertance[f], response);
  }
}

template <class Real>
const Real* GasPathStages<Real>::momentum(const Real* x, const GasColumns<Real>& gas,
                                          const std::vector<Real>& area, Real* dx) const {
  const auto& p = states_.passages;
  momentum_of({0, p.intake_valves.end()}, fresh_, x, gas, area, dx);
  momentum_of({p.exhaust_valves.begin, p.count - p.exhaust_valves.begin}, spent_, x, gas, area, dx);
  return dx + p.flow.begin;
}

template <class Real>
const typename GasPathStages<Real>::Carried& GasPathStages<Real>::carry(const Real* x,
                                                                        const GasColumns<Real>& gas,
                                                                        Carried& carried) const {
  const Real* q = x + states_.passages.flow.begin;
  const std::size_t *from = from_.data(), *behind = behind_.data(), count = states_.passages.count;
  const auto fill = [&](std::vector<Real>& out, const std::vector<Real>& column) {
    Real* flow = out.data();
    const Real* share = column.data();
#pragma GCC ivdep
    for (std::size_t f = 0; f < count; ++f)
      flow[f] = q[f] * m::select(q[f] >= Real(0), share[from[f]], share[behind[f]]);
  };
  for (std::size_t i = 0; i < m::species_count; ++i) fill(carried[i], gas.fraction[i]);
  fill(carried[m::energy], gas.enthalpy);
  return carried;
}

template <class Real>
void GasPathStages<Real>::exchange(const Carried& carried, Balances<Real>& balances,
                                   EngineTotals<Real>& totals, Real* dx) const {
  // All but the first and the last passage lie between volumes.
  const std::size_t first = Passages::filter, last = states_.passages.outlet;
  std::array<const Real*, m::species_count + 1> flow;
  for (std::size_t i = 0; i <= m::energy; ++i) flow[i] = carried[i].data();
  for (std::size_t i = 0; i <= m::energy; ++i) balances.add(to_[first], i, flow[i][first]);
  for (std::size_t f = first + 1; f < last; ++f) {
    const std::size_t from = from_[f], to = to_[f];
    for (std::size_t i = 0; i <= m::energy; ++i) {
      balances.take(from, i, flow[i][f]);
      balances.add(to, i, flow[i][f]);
    }
  }
  for (std::size_t i = 0; i <= m::energy; ++i) balances.take(from_[last], i, flow[i][last]);
  for (std::size_t f = 0; f < states_.passages.count; ++f) dx[states_.enthalpy[f]] = carried[m::energy][f];
  const auto fuel = [&](std::size_t f) { return carried[m::vapour][f] + carried[m::droplets][f]; };
  totals.fuel_stood_off -= fuel(first);
  totals.air_filtered += carried[m::air][first];
  totals.fuel_exhausted += fuel(last);
  totals.air_exhausted += carried[m::air][last];
}

template <class Real>
void GasPathStages<Real>::leak(std::size_t manifold, const m::Gas<Real>& air, const m::Gas<Real>& gas,
                               Balances<Real>& balances, EngineTotals<Real>& totals) const {
  constexpr double smoothing = 50.0;  // [Pa]
  const Real area = bike_.path.manifold_leak;
  if (m::none(area > Real(0))) return;
  const Real flow =
      m::orifice_flow(fresh_, area, air.pressure, air.density, gas.pressure, gas.density, Real(smoothing));
  const auto donor = m::carried(flow >= Real(0), air, gas);
  for (std::size_t i = 0; i < m::species_count; ++i) balances.add(manifold, i, flow * donor.fraction[i]);
  balances.add_energy(manifold, flow * donor.enthalpy);
  totals.air_leaked += flow * donor.fraction[m::air];
  totals.fuel_stood_off -= flow * (donor.fraction[m::vapour] + donor.fraction[m::droplets]);
}

}  // namespace glassbowl::sim
