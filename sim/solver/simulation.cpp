#include "sim/solver/simulation.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>
#include <utility>

#include "models/constants.hpp"

namespace glassbowl::sim {
namespace {

constexpr double cycle_angle = 4.0 * m::constants::pi;
constexpr double decision_lead = 0.10;  // [rad] before the spark
constexpr double settling = 0.09;       // [rad] after valve closing, while the last flow dies out
constexpr double stall_speed = 20.0;    // [rad/s]

StateBounds bounds_of(const std::shared_ptr<const Network<double>>& shared) {
  const auto& network = *shared;
  const auto& layout = network.layout();
  StateBounds out;
  out.names = {shared, &layout.names};  // which lives as long as the network
  for (const auto& state : layout.names) {
    out.nominal.push_back(state.ledger ? 0.0 : state.nominal);
    out.lower.push_back(state.unit == "kg" ? state.lower : -INFINITY);
  }
  out.lower[layout.tank] = -network.fuel_density() * network.bike().carburetor.feed.fuel_volume;
  return out;
}

/// How often the crank has come to `angle` of a cycle by `now`.
double turns(double now, double angle) {
  return std::floor((now - angle) / cycle_angle);
}
/// True when `angle` (modulo one cycle) was passed between `before` and `now`.
bool passed(double before, double now, double angle) {
  return turns(now, angle) > turns(before, angle);
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
      held_(network_->held_at_rest()),
      snapshot_(network_->make_snapshot()),
      trapped_(network_->layout().cylinders) {
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
      held_(other.held_),
      snapshot_(other.snapshot_),
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
  if (other.held_.ideal_lambda > 0.0) use_ideal_mixture(other.held_.ideal_lambda);
}

Rates Simulation::rates_of_network() {
  return [this](const State& x, State& dx, double t) {
    ++evaluations_;
    if (!options_.single_rates) {
      network_->rates(t, x.data(), held_, dx.data(), snapshot_);
      return;
    }
    if (single_ == nullptr) single_ = make_single_rates(network_->bike());
    (*single_)(t, x.data(), held_, dx.data());
  };
}

void Simulation::use_ideal_mixture(double lambda) {
  held_.ideal_lambda = lambda;
  rates_valid_ = false;
}

void Simulation::change_bike(const Bike<double>& bike) {
  auto network = std::make_shared<const Network<double>>(bike);
  if (Layout::parts_of(bike) != Layout::parts_of(network_->bike()))
    throw std::invalid_argument("change_bike: the bike has other parts");
  network_ = std::move(network);
  // What holds for the old plate, volumes and passages holds no longer. All stays where it is: readers of
  // channels point there.
  const auto fresh = network_->make_snapshot();
  snapshot_.plate_found_at = fresh.plate_found_at;
  snapshot_.volume = fresh.volume;
  snapshot_.per_volume = fresh.per_volume;
  snapshot_.area = fresh.area;
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

const Snapshot<double>& Simulation::snapshot() {
  // The stages of a step have overwritten it.
  ++evaluations_;
  network_->rates(t_, x_.data(), held_, dx_.data(), snapshot_);
  rates_valid_ = !options_.single_rates;
  return snapshot_;
}

bool Simulation::advance(double limit, const std::function<void(const Cycle&)>& on_cycle) {
  while (t_ < limit && !stalled_) {
    refresh_rates();
    const double before = t_;
    t_ = stepper_->step(rates_, x_, dx_, t_, limit, x_before_);
    x_.swap(x_before_);
    dx_.swap(dx_before_);
    rates_valid_ = false;
    land_events(before, on_cycle);
  }
  return !stalled_;
}

void Simulation::arrive(End before, double time, State now,
                        const std::function<void(const Cycle&)>& on_cycle) {
  x_before_ = std::move(before.state);
  dx_before_ = std::move(before.rates);
  x_ = std::move(now);
  t_ = time;
  rates_valid_ = false;
  land_events(before.time, on_cycle);
}

double Simulation::quiet_until() const {
  const auto& bike = network_->bike();
  const double now = x_[network_->layout().crank_angle];
  // A free engine may stall at any step, and its spark moves with its speed.
  if (bike.load.kind != m::LoadKind::held_speed || !bike.load.speed.is_constant()) return now;
  const double advance = bike.engine.combustion.advance(bike.load.speed(0.0));
  const auto next = [&](double angle) { return angle + cycle_angle * (turns(now, angle) + 1.0); };
  double out = next(0.0);
  for (const double firing : bike.engine.firing) {
    out = std::min(out, next(firing + bike.engine.intake.closes + settling));
    out = std::min(out, next(firing + bike.engine.combustion.retard_error - advance - decision_lead));
  }
  return out - 1e-6;  // the speed found from two angles is not quite the one held
}

void Simulation::land_events(double t_before, const std::function<void(const Cycle&)>& on_cycle) {
  const auto& layout = network_->layout();
  const auto& bike = network_->bike();
  const double before = x_before_[layout.crank_angle];
  const double now = x_[layout.crank_angle];
  const double omega = (now - before) / (t_ - t_before);

  for (std::size_t k = 0; k < layout.cylinders; ++k) {
    const double firing = bike.engine.firing[k];
    if (passed(before, now, firing + bike.engine.intake.closes + settling)) {
      const auto y = m::volume_at(x_.data() + layout.gas(0, layout.cylinder(k)), layout.volumes).mass;
      const double fuel = y[m::vapour] + y[m::droplets];
      auto& trapped = trapped_[k];
      trapped.mass = y[m::air] + fuel + y[m::burned];
      trapped.lambda = y[m::air] / (bike.fuel.stoichiometric_ratio * (fuel + 1e-12));
      trapped.residual = y[m::burned] / trapped.mass;
    }
    const double spark = firing + bike.engine.combustion.retard_error - bike.engine.combustion.advance(omega);
    if (passed(before, now, spark - decision_lead)) {
      // At its own angle, not at the step's end: droplets evaporate meanwhile, and where every cycle's steps
      // lie alike the charge would always be judged late.
      const double at = spark - decision_lead + cycle_angle * turns(now, spark - decision_lead);
      const double share = (at - before) / (now - before);
      State then(x_);
      for (std::size_t i = 0; i < then.size(); ++i) then[i] = x_before_[i] + share * (x_[i] - x_before_[i]);
      held_.ignition[k] = network_->decide_ignition(k, then.data(), omega);
      trapped_[k].ignited = held_.ignition[k].ignited;
      if (trapped_[k].ignited < 0.5) ++misfires_;
    }
  }

  if (passed(before, now, 0.0)) {
    // The cycle ends inside this step: totals there by Hermite interpolation between its two ends.
    snapshot();
    const double h = t_ - t_before;
    const double target = cycle_angle * std::floor(now / cycle_angle);
    double s = (target - before) / (now - before);
    const auto hermite = [&](std::size_t i, double u) {
      const double u2 = u * u, u3 = u2 * u;
      return (2 * u3 - 3 * u2 + 1) * x_before_[i] + (u3 - 2 * u2 + u) * h * dx_before_[i] +
             (3 * u2 - 2 * u3) * x_[i] + (u3 - u2) * h * dx_[i];
    };
    for (int i = 0; i < 3; ++i) s += (target - hermite(layout.crank_angle, s)) / (now - before);
    std::vector<double> totals(layout.size, 0.0);
    for (std::size_t i = layout.ledger_begin; i < layout.size; ++i) totals[i] = hermite(i, s);
    const double at = t_before + s * h;
    if (cycle_open_) {
      Cycle cycle =
          cycle_between(layout, bike.fuel.stoichiometric_ratio, cycle_start_, cycle_start_time_, totals, at);
      cycle.number = ++cycle_number_;
      cycle.cylinders = trapped_;
      if (on_cycle) on_cycle(cycle);
    }
    cycle_start_ = std::move(totals);
    cycle_start_time_ = at;
    cycle_open_ = true;
  }
  // An engine at rest that still waits for its starter has not stalled.
  const bool waits = !has_run_ && t_ < bike.rider.starter.points().back().first;
  has_run_ = has_run_ || omega > 2.0 * stall_speed;
  if (!m::speed_is_held(bike.load, t_) && omega < stall_speed && bike.rider.starter(t_) <= 0.0 && !waits)
    stalled_ = true;
}

}  // namespace glassbowl::sim
