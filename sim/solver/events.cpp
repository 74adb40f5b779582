#include <cmath>
#include <iterator>
#include <string_view>

#include "models/constants.hpp"
#include "sim/solver/simulation.hpp"
#include "sim/solver/step_interpolation.hpp"

/// What happens between steps: each event is named once, with when it happens and what it changes.
namespace glassbowl::sim {
namespace {

constexpr double cycle_angle = 4.0 * m::constants::pi;
constexpr double decision_lead = 0.10;  // [rad] before the spark
constexpr double settling = 0.09;       // [rad] after valve closing, while the last flow dies out
constexpr double stall_speed = 20.0;    // [rad/s]

/// How often the crank has come to `angle` of a cycle by `now`.
double turns(double now, double angle) {
  return std::floor((now - angle) / cycle_angle);
}

// Where events lie in a cycle [rad], which may depend on the crank's speed.
double valve_closed(const Bike<double>& bike, std::size_t cylinder, double) {
  return bike.engine.firing[cylinder] + bike.engine.intake.closes + settling;
}
double spark_decided(const Bike<double>& bike, std::size_t cylinder, double omega) {
  const auto& combustion = bike.engine.combustion;
  return bike.engine.firing[cylinder] + combustion.retard_error - combustion.advance(omega) - decision_lead;
}
double top_dead_centre(const Bike<double>&, std::size_t, double) {
  return 0.0;
}

}  // namespace

/// Falls where the crank passes an angle, or after any step for which a condition holds.
struct Simulation::Event {
  std::string_view name;
  bool of_each_cylinder;
  double (*angle)(const Bike<double>& bike, std::size_t cylinder, double omega);
  bool (Simulation::*condition)(const StepTaken& step) const;
  void (Simulation::*action)(const StepTaken& step, std::size_t cylinder, const CycleListener& on_cycle);

  std::size_t count(const StateMap& states) const { return of_each_cylinder ? states.cylinders : 1; }
};

/// In the order in which those of one step are handled.
const Simulation::Event Simulation::events[] = {
    {"charge trapped", true, valve_closed, nullptr, &Simulation::read_charge},
    {"spark decided", true, spark_decided, nullptr, &Simulation::decide_spark},
    {"cycle ended", false, top_dead_centre, nullptr, &Simulation::end_cycle},
    {"engine stalled", false, nullptr, &Simulation::stalls, &Simulation::stall},
    {"engine runs", false, nullptr, &Simulation::runs, &Simulation::note_running},
};

void Simulation::handle_events(double t_before, const CycleListener& on_cycle) {
  const auto& states = network_->states();
  const double before = states.crank.load(x_before_.data()).angle, now = states.crank.load(x_.data()).angle;
  const StepTaken step{t_before, t_, before, now, (now - before) / (t_ - t_before)};
  for (const Event& event : events)
    for (std::size_t k = 0; k < event.count(states); ++k) {
      bool falls = false;
      if (event.angle != nullptr) {
        const double angle = event.angle(network_->bike(), k, step.omega);
        falls = turns(step.angle, angle) > turns(step.angle_before, angle);
      } else {
        falls = (this->*event.condition)(step);
      }
      if (falls) (this->*event.action)(step, k, on_cycle);
    }
}

double Simulation::quiet_until() const {
  const auto& bike = network_->bike();
  const double now = network_->states().crank.load(x_.data()).angle;
  // A free engine may stall at any step, and its spark moves with its speed.
  if (bike.load.kind != m::LoadKind::held_speed || !bike.load.speed.is_constant()) return now;
  double out = INFINITY;
  for (const Event& event : events)
    for (std::size_t k = 0; event.angle != nullptr && k < event.count(network_->states()); ++k) {
      const double angle = event.angle(bike, k, bike.load.speed(0.0));
      out = std::fmin(out, angle + cycle_angle * (turns(now, angle) + 1.0));
    }
  return out - 1e-6;  // the speed found from two angles is not quite the one held
}

void Simulation::read_charge(const StepTaken&, std::size_t cylinder, const CycleListener&) {
  const auto& states = network_->states();
  const auto y = states.gas.load(x_.data(), states.volumes.cylinders[cylinder]).mass;
  const double fuel = y[m::vapour] + y[m::droplets];
  auto& trapped = trapped_[cylinder];
  trapped.mass = y[m::air] + fuel + y[m::burned];
  trapped.lambda = y[m::air] / (network_->bike().fuel.stoichiometric_ratio * (fuel + 1e-12));
  trapped.residual = y[m::burned] / trapped.mass;
}

void Simulation::decide_spark(const StepTaken& step, std::size_t cylinder, const CycleListener&) {
  // At its own angle, not at the step's end: droplets evaporate meanwhile, and where every cycle's steps lie
  // alike the charge would always be judged late.
  const double omega = step.omega, angle = spark_decided(network_->bike(), cylinder, omega);
  const double at = angle + cycle_angle * turns(step.angle, angle);
  const double share = (at - step.angle_before) / (step.angle - step.angle_before);
  for (std::size_t i = 0; i < x_.size(); ++i) between_[i] = x_before_[i] + share * (x_[i] - x_before_[i]);
  auto& ignition = discrete_.ignition[cylinder];
  ignition = network_->cylinders().decide_ignition(cylinder, between_.data(), omega);
  trapped_[cylinder].ignited = ignition.ignited;
  if (misfired(ignition.ignited)) ++misfires_;
}

/// The cycle ends inside the step: accumulators there by Hermite interpolation between its two ends.
void Simulation::end_cycle(const StepTaken& step, std::size_t, const CycleListener& on_cycle) {
  const auto& states = network_->states();
  outputs();
  const double h = step.t - step.t_before;
  const double target = cycle_angle * std::floor(step.angle / cycle_angle);
  const auto within = [&](std::size_t i) { return StepCubic{h, x_before_[i], dx_before_[i], x_[i], dx_[i]}; };
  const double share = within(states.crank.index(&m::CrankState<double>::angle)).share_at(target);
  for (std::size_t i = states.accumulators_begin(); i < states.size; ++i) between_[i] = within(i)(share);
  const double at = step.t_before + share * h;
  if (cycle_open_) {
    find_cycle_between(states, network_->bike().fuel.stoichiometric_ratio, cycle_start_, cycle_start_time_,
                       between_, at, cycle_);
    cycle_.number = ++cycle_number_;
    cycle_.cylinders = trapped_;
    if (on_cycle) on_cycle(cycle_);
  }
  cycle_start_.swap(between_);
  cycle_start_time_ = at;
  cycle_open_ = true;
}

bool Simulation::stalls(const StepTaken& step) const {
  const auto& bike = network_->bike();
  // An engine at rest that still waits for its starter has not stalled.
  const bool waits = !has_run_ && step.t < bike.rider.starter.points().back().first;
  return !m::speed_is_held(bike.load, step.t) && step.omega < stall_speed &&
         bike.rider.starter(step.t) <= 0.0 && !waits;
}
void Simulation::stall(const StepTaken&, std::size_t, const CycleListener&) {
  stalled_ = true;
}

bool Simulation::runs(const StepTaken& step) const {
  return step.omega > 2.0 * stall_speed;
}
void Simulation::note_running(const StepTaken&, std::size_t, const CycleListener&) {
  has_run_ = true;
}

}  // namespace glassbowl::sim
