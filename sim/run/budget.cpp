#include "sim/run/budget.hpp"

#include <algorithm>
#include <cmath>

namespace glassbowl::sim {
namespace {

constexpr double no_bound = -1e299;
constexpr double least_mass = 1e-6;    // [kg]
constexpr double least_energy = 1e-3;  // [J]
// A budget is closed against what was exchanged, and against this share of what is held if that is more: each
// fixed step may lose half of a store's last place, 1e-16 of it, and ten thousand that all do still close.
constexpr double held_share = 1e-3;  // [-]

/// A sum of signed terms and of their magnitudes.
struct Balance {
  double sum = 0.0, magnitude = 0.0;
  void add(double term) {
    sum += term;
    magnitude += std::abs(term);
  }
  double residual(double least, double held) const {
    return std::abs(sum) / std::max({magnitude, least, held_share * std::abs(held)});
  }
};

}  // namespace

BudgetKeeper::BudgetKeeper(const Network<double>& network, const std::vector<double>& state)
    : network_(network), first_(state) {
  const auto& names = network.states().names;
  for (std::size_t i = 0; i < names.size(); ++i)
    if (!names[i].accumulator && names[i].lower > no_bound) bounded_.push_back(i);
  watch(state);
}

void BudgetKeeper::watch(const std::vector<double>& state) {
  const auto& names = network_.states().names;
  for (const std::size_t i : bounded_) {
    const double margin = (state[i] - names[i].lower) / names[i].nominal;
    if (lowest_at_ != absent && margin >= lowest_) continue;
    lowest_ = margin;
    lowest_at_ = i;
  }
}

Budget BudgetKeeper::close(const std::vector<double>& state) const {
  const auto& states = network_.states();
  const auto change = [&](std::size_t i) { return state[i] - first_[i]; };
  const auto engine_from = states.totals.load(first_.data()), engine = states.totals.load(state.data());
  Budget out;

  Balance fuel;
  fuel.add(network_.fuel_held(first_.data()) - network_.fuel_held(state.data()));
  fuel.add(engine_from.fuel_burned - engine.fuel_burned);
  fuel.add(engine_from.fuel_exhausted - engine.fuel_exhausted);
  fuel.add(engine_from.fuel_stood_off - engine.fuel_stood_off);
  double delivered = 0.0;
  for (const auto& at : states.carburetors) {
    const auto from = at.totals.load(first_.data()), to = at.totals.load(state.data());
    fuel.add(from.overflowed - to.overflowed);
    delivered += std::abs(to.idle - from.idle) + std::abs(to.main - from.main) +
                 std::abs(to.pump - from.pump) + std::abs(to.enrichment - from.enrichment);
    for (std::size_t i = 0; i < at.port_fuel.count; ++i) delivered += std::abs(change(at.port_fuel[i]));
  }
  fuel.magnitude += delivered;
  out.fuel = fuel.residual(least_mass, network_.fuel_held(first_.data()));
  out.fuel_missing = fuel.sum;

  Balance air;
  air.add(network_.air_held(first_.data()) - network_.air_held(state.data()));
  air.add(engine.air_filtered - engine_from.air_filtered);
  air.add(engine.air_leaked - engine_from.air_leaked);
  air.add(engine_from.air_exhausted - engine.air_exhausted);
  air.add(engine_from.air_burned - engine.air_burned);
  out.air = air.residual(least_mass, network_.air_held(first_.data()));
  out.air_missing = air.sum;

  for (std::size_t v = 0; v < states.volumes.count; ++v) {
    Balance energy;
    energy.add(network_.volume_energy(first_.data(), v) - network_.volume_energy(state.data(), v));
    energy.add(change(states.other_energy[v]));
    for (std::size_t f = 0; f < states.passages.count; ++f) {
      if (states.passages.ends[f].from == v) energy.add(-change(states.enthalpy[f]));
      if (states.passages.ends[f].to == v) energy.add(change(states.enthalpy[f]));
    }
    const double residual = energy.residual(least_energy, network_.volume_energy(first_.data(), v));
    if (v == 0 || residual > out.energy) {
      out.energy = residual;
      out.energy_volume = states.volumes.names[v];
    }
  }
  out.lowest_margin = lowest_;
  if (lowest_at_ != absent) out.lowest_margin_name = states.names[lowest_at_].name;
  return out;
}

}  // namespace glassbowl::sim
