#include "sim/solver/simulation.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

namespace glassbowl::sim {
namespace {

StateBounds bounds_of(const std::shared_ptr<const Network<double>>& shared) {
  const auto& network = *shared;
  const auto& states = network.states();
  StateBounds out;
  out.names = {shared, &states.names};  // which lives as long as the network
  for (const auto& state : states.names) {
    out.nominal.push_back(state.accumulator ? 0.0 : state.nominal);
    out.lower.push_back(state.unit == "kg" ? state.lower : -INFINITY);
  }
  out.lower[states.tank.index(&m::TankState<double>::fuel_change)] =
      -network.fuel_density() * network.bike().carburetor.feed.fuel_volume;
  return out;
}

}  // namespace

Simulation::Simulation(const Bike<double>& bike, const StepOptions& options)
    : network_(std::make_shared<const Network<double>>(bike)),
      options_(options),
      stepper_(make_stepper(options, bounds_of(network_))),
      check_(options.step, bounds_of(network_)),
      x_(network_->state_at_rest()),
      dx_(x_.size()),
      x_before_(x_),
      dx_before_(x_),
      between_(x_.size()),
      discrete_(network_->discrete_at_rest()),
      outputs_(network_->make_outputs()),
      scratch_(network_->make_scratch()),
      trapped_(network_->states().cylinders),
      cycle_start_(x_.size()) {
  rates_ = rates_of_network();
}

Simulation::Simulation(const Simulation& other)
    : network_(other.network_),
      options_(other.options_),
      stepper_(make_stepper(options_, bounds_of(network_))),
      check_(other.check_),
      x_(other.x_),
      dx_(other.dx_),
      x_before_(other.x_before_),
      dx_before_(other.dx_before_),
      between_(other.between_),
      discrete_(other.discrete_),
      outputs_(other.outputs_),
      scratch_(other.scratch_),
      trapped_(other.trapped_),
      cycle_start_(other.cycle_start_),
      cycle_start_time_(other.cycle_start_time_),
      cycle_number_(other.cycle_number_),
      misfires_(other.misfires_),
      t_(other.t_),
      rates_valid_(false),
      cycle_open_(other.cycle_open_),
      stalled_(other.stalled_),
      has_run_(other.has_run_) {
  rates_ = rates_of_network();
  if (other.discrete_.ideal_lambda > 0.0) use_ideal_mixture(other.discrete_.ideal_lambda);
}

Rates Simulation::rates_of_network() {
  return [this](const State& x, State& dx, double t) {
    ++evaluations_;
    if (!options_.single_rates) {
      network_->rates(t, x.data(), discrete_, dx.data(), scratch_);
      return;
    }
    if (single_ == nullptr) single_ = make_single_rates(network_->bike());
    (*single_)(t, x.data(), discrete_, dx.data());
  };
}

void Simulation::use_ideal_mixture(double lambda) {
  discrete_.ideal_lambda = lambda;
  rates_valid_ = false;
}

void Simulation::change_bike(const Bike<double>& bike) {
  auto network = std::make_shared<const Network<double>>(bike);
  if (StateMap::parts_of(bike) != StateMap::parts_of(network_->bike()))
    throw std::invalid_argument("change_bike: the bike has other parts");
  network_ = std::move(network);
  // Outputs stay where they are: readers of channels point there.
  scratch_ = network_->make_scratch();
  single_ = nullptr;
  use_steps(options_);  // a tank of another size has another bound
}

void Simulation::use_steps(const StepOptions& options) {
  options_ = options;
  const auto bounds = bounds_of(network_);
  stepper_ = make_stepper(options_, bounds);
  check_ = StepCheck(options_.step, bounds);
  if (!options_.single_rates) single_ = nullptr;
  rates_valid_ = false;
}

void Simulation::refresh_rates() {
  if (rates_valid_) return;
  rates_(x_, dx_, t_);
  rates_valid_ = true;
}

const Outputs<double>& Simulation::outputs() {
  ++evaluations_;
  network_->rates(t_, x_.data(), discrete_, dx_.data(), scratch_, &outputs_);
  rates_valid_ = !options_.single_rates;
  return outputs_;
}

bool Simulation::advance(double limit, const CycleListener& on_cycle) {
  while (t_ < limit && !stalled_) {
    refresh_rates();
    const double before = t_;
    t_ = stepper_->step(rates_, x_, dx_, t_, limit, x_before_);
    x_.swap(x_before_);
    dx_.swap(dx_before_);
    rates_valid_ = false;
    handle_events(before, on_cycle);
  }
  return !stalled_;
}

Simulation::StepEnds Simulation::begin_arrival() {
  rates_valid_ = false;
  return {x_before_, dx_before_, x_};
}

void Simulation::arrive(double t_before, double t, const CycleListener& on_cycle) {
  t_ = t;
  handle_events(t_before, on_cycle);
}

}  // namespace glassbowl::sim
