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
  const auto& names = network.layout().names;
  for (std::size_t i = 0; i < names.size(); ++i)
    if (!names[i].ledger && names[i].lower > no_bound) bounded_.push_back(i);
  watch(state);
}

void BudgetKeeper::watch(const std::vector<double>& state) {
  const auto& names = network_.layout().names;
  for (const std::size_t i : bounded_) {
    const double margin = (state[i] - names[i].lower) / names[i].nominal;
    if (lowest_at_ != absent && margin >= lowest_) continue;
    lowest_ = margin;
    lowest_at_ = i;
  }
}

Budget BudgetKeeper::close(const std::vector<double>& state) const {
  const auto& layout = network_.layout();
  const auto change = [&](std::size_t i) { return state[i] - first_[i]; };
  Budget out;

  Balance fuel;
  fuel.add(network_.fuel_held(first_.data()) - network_.fuel_held(state.data()));
  for (const std::size_t i :
       {layout.fuel_burned, layout.fuel_exhausted, layout.fuel_stood_off, layout.fuel_overflowed})
    fuel.add(-change(i));
  double delivered = 0.0;
  for (const std::size_t i : {layout.by_idle, layout.by_main, layout.by_pump, layout.by_enrichment})
    delivered += std::abs(change(i));
  for (std::size_t i = 0; i < layout.ports; ++i) delivered += std::abs(change(layout.by_port + i));
  fuel.magnitude += delivered;
  out.fuel = fuel.residual(least_mass, network_.fuel_held(first_.data()));
  out.fuel_missing = fuel.sum;

  Balance air;
  air.add(network_.air_held(first_.data()) - network_.air_held(state.data()));
  air.add(change(layout.air_filtered));
  air.add(change(layout.air_leaked));
  air.add(-change(layout.air_exhausted));
  air.add(-change(layout.air_burned));
  out.air = air.residual(least_mass, network_.air_held(first_.data()));
  out.air_missing = air.sum;

  for (std::size_t v = 0; v < layout.volumes; ++v) {
    Balance energy;
    energy.add(network_.volume_energy(first_.data(), v) - network_.volume_energy(state.data(), v));
    energy.add(change(layout.other_energy + v));
    for (std::size_t f = 0; f < layout.faces; ++f) {
      if (layout.connections[f].from == v) energy.add(-change(layout.face_enthalpy + f));
      if (layout.connections[f].to == v) energy.add(change(layout.face_enthalpy + f));
    }
    const double residual = energy.residual(least_energy, network_.volume_energy(first_.data(), v));
    if (v == 0 || residual > out.energy) {
      out.energy = residual;
      out.energy_volume = layout.volume_names[v];
    }
  }
  out.lowest_margin = lowest_;
  if (lowest_at_ != absent) out.lowest_margin_name = layout.names[lowest_at_].name;
  return out;
}

}  // namespace glassbowl::sim
