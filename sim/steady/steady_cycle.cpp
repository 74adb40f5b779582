#include "sim/steady/steady_cycle.hpp"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <deque>
#include <new>
#include <utility>

#include "models/constants.hpp"
#include "sim/api/error.hpp"
#include "sim/bike/stable_step.hpp"
#include "sim/steady/convergence_monitor.hpp"
#include "sim/steady/slow_states.hpp"

namespace glassbowl::sim {
namespace {

using Eigen::VectorXd;

constexpr int first_ahead = 3;         // cycles until the gas has followed its cold start
constexpr int first_remembered = 8;    // ... and the fuel circuits
constexpr int first_silencer = 12;     // ... and the charges light
constexpr int first_judged = 10;       // cycles before which nothing is taken for the end
constexpr int between = 5;             // cycles from one extrapolation to the next
constexpr std::size_t memory = 4;      // cycles that it learns from
constexpr double damping = 1e-3;       // μ, against columns that say the same
constexpr int most_accelerated = 90;   // cycles
constexpr double longer = 2.0;         // steps, to begin with; with the next two by trial on the default maps
constexpr double near_end = 5e-3;      // [-] of what is left, where they end
constexpr double steps_of_slow = 2.0;  // that slow states are thought to have to go still, at least
constexpr int most_by_longer = 50;     // cycles
constexpr double most_turned = 0.08;   // [rad] in a step, or decisions before the spark would come after it

/// A cycle that was marched.
struct Iterate {
  VectorXd from, step;  ///< slow states at its beginning, and how far they are to go
  VectorXd outputs;
};

/// What users read of a cycle, so that differences are relative; torque against itself and 1 N m.
VectorXd outputs_of(const Cycle& cycle) {
  const double torque = cycle.indicated_torque;
  std::vector<double> all{std::log(cycle.air_flow + 1e-5), std::log(cycle.fuel_flow + 1e-6),
                          std::asinh(torque)};
  for (const auto& c : cycle.cylinders) all.push_back(std::log(c.lambda));
  return Eigen::Map<VectorXd>(all.data(), static_cast<Eigen::Index>(all.size()));
}

/// Coefficients γ of the last iterates' differences, oldest first.
VectorXd coefficients(const std::deque<Iterate>& past, const VectorXd& weights) {
  const auto columns = static_cast<Eigen::Index>(past.size()) - 1;
  Eigen::MatrixXd differences(weights.size(), columns);
  for (Eigen::Index j = 0; j < columns; ++j) {
    const auto k = static_cast<std::size_t>(j);
    differences.col(j) = weights.cwiseProduct(past[k + 1].step - past[k].step);
  }
  const VectorXd scale = differences.colwise().norm().cwiseMax(1e-300).cwiseInverse();
  const Eigen::MatrixXd scaled = differences * scale.asDiagonal();
  const Eigen::MatrixXd normal =
      scaled.transpose() * scaled + damping * damping * Eigen::MatrixXd::Identity(columns, columns);
  const VectorXd right = scaled.transpose() * weights.cwiseProduct(past.back().step);
  return scale.asDiagonal() * normal.ldlt().solve(right);
}

/// Goes less far along coordinates that swing from one cycle to the next, and slowly farther again.
void relax(VectorXd& share, const VectorXd& step, const VectorXd& step_before) {
  for (Eigen::Index i = 0; i < share.size(); ++i) {
    const bool swings = step[i] * step_before[i] < 0.0 && std::abs(step[i]) > 0.3 * std::abs(step_before[i]);
    share[i] = swings ? std::max(0.5 * share[i], 1.0 / 32.0) : std::min(1.15 * share[i], 1.0);
  }
}

bool all_light(const Cycle& cycle) {
  return std::all_of(cycle.cylinders.begin(), cycle.cylinders.end(),
                     [](const Trapped& c) { return c.ignited > 0.9; });
}

/// Gives a simulation its steps back, however a search ends. Where memory for that is lacking, the search has
/// failed for want of it, and nobody goes on with the simulation.
struct StepsKept {
  Simulation& simulation;
  StepOptions steps;
  ~StepsKept() {
    try {
      simulation.use_steps(steps);
    } catch (const std::bad_alloc&) {
    }
  }
};

/// Steps to begin with: longer, and with rates in single precision, as far as these can follow the bike.
StepOptions first_steps(const Simulation& simulation, const SteadyOptions& options) {
  StepOptions steps = simulation.step_options();
  if (!options.accelerate || !options.longer_steps || steps.method != Method::fixed_step) return steps;
  const auto& bike = simulation.network().bike();
  const double step =
      std::min({longer * steps.step, stable_step(bike.path), most_turned / bike.load.speed(0.0)});
  if (step <= steps.step) return steps;
  steps.step = step;
  steps.single_rates = true;
  return steps;
}

bool is_steady(const Bike<double>& bike) {
  return bike.load.kind == m::LoadKind::held_speed && bike.load.speed.is_constant() &&
         bike.rider.throttle.is_constant() && bike.rider.choke.is_constant() &&
         bike.rider.tap.is_constant() && bike.air.altitude.is_constant();
}

}  // namespace

March march_to_steady_cycle(Simulation& simulation, SteadyOptions options, SteadyCycle& out) {
  const std::size_t tank_state = simulation.network().states().tank.index(&m::TankState<double>::fuel_change);
  const auto& bike = simulation.network().bike();
  if (!is_steady(bike))
    throw Error(ErrorKind::input,
                "a steady cycle needs load.kind = \"held_speed\" with one speed, and one value each of "
                "throttle, choke, tap and altitude");
  const double period = 4.0 * m::constants::pi / bike.load.speed(0.0);
  const SlowStates slow(simulation, period);
  const double tank = simulation.state()[tank_state];
  const StepOptions steps_of_case = simulation.step_options(), steps = first_steps(simulation, options);
  bool longer_steps = steps.step > steps_of_case.step;
  int by_longer = 0;
  const StepsKept kept{simulation, steps_of_case};

  Cycle latest;
  const std::function<void(const Cycle&)> keep = [&](const Cycle& cycle) { latest = cycle; };
  // The first cycle only opens the account. A leg ends where the crank has safely passed the cycle's end.
  co_yield Leg{&simulation, simulation.time() + period + 2.0 * steps_of_case.step, &keep};
  if (longer_steps) simulation.use_steps(steps);

  std::deque<Iterate> past;
  ConvergenceMonitor settling(options.tolerance, options.in_a_row, between);
  VectorXd step_before, share;
  const auto use_steps_of_case = [&] {
    simulation.use_steps(steps_of_case);
    longer_steps = false;
    settling = ConvergenceMonitor(options.tolerance, options.in_a_row, between);
    past.clear();
    out.change = INFINITY;
  };
  // Cycles marched plainly so far; none if less than 1.
  const auto plain = [&] { return out.cycles - (options.accelerate ? by_longer + most_accelerated : 0); };
  while (out.cycles < options.most_cycles) {
    const State before = simulation.state();
    const double time_before = simulation.time();
    bool failed = false;
    try {
      co_yield Leg{&simulation, time_before + period, &keep};
    } catch (const Error& failure) {
      if (!longer_steps || failure.kind() != ErrorKind::solver) throw;
      failed = true;
    }
    if (failed) {  // once more with shorter ones; what is held of the failed try is forgotten in a cycle
      use_steps_of_case();
      simulation.state() = before;
      simulation.set_time(time_before);
      co_yield Leg{&simulation, time_before + period, &keep};
      continue;
    }
    const int n = ++out.cycles;
    if (longer_steps) by_longer = n;
    const bool plainly = plain() > 0;
    out.last.push_back(latest);
    const int most_kept = std::max(plainly ? ConvergenceMonitor::seen_in : between, options.in_a_row);
    if (std::cmp_greater(out.last.size(), most_kept)) out.last.erase(out.last.begin());
    State x = simulation.state();
    x[tank_state] = tank;

    const VectorXd from = slow.read(before), found = slow.read(x), outputs = outputs_of(latest);
    const VectorXd weights = slow.weights(found, latest);
    const VectorXd step = slow.reach(simulation, x, latest).cwiseProduct(found - from);
    if (n == 1)
      share = VectorXd::Ones(step.size());
    else
      relax(share, step, step_before);
    step_before = step;
    // At least as far as the cycle itself went.
    VectorXd ahead = found + share.cwiseProduct(from + step - found), outputs_ahead = outputs;
    bool extrapolated = false;
    if (n >= first_remembered) {
      past.push_back({from, step, outputs});
      if (past.size() > memory) past.pop_front();
      // One that hardly has to go is left in peace to show it.
      const bool there = !longer_steps && out.change < options.tolerance;
      extrapolated = (n - first_remembered) % between == between - 1 && !there;
      if (extrapolated) {
        ahead = from + step;
        const VectorXd gamma = coefficients(past, weights);
        for (Eigen::Index j = 0; j < gamma.size(); ++j) {
          const auto& a = past[static_cast<std::size_t>(j)];
          const auto& b = past[static_cast<std::size_t>(j) + 1];
          ahead -= gamma[j] * (b.from + b.step - a.from - a.step);
          outputs_ahead -= gamma[j] * (b.outputs - a.outputs);
        }
      }
    }
    const bool known = ahead.allFinite();
    ahead = known ? slow.bounded(ahead, found) : found;

    // What fills little by little changes no figure until it is full: it counts by its own steps, too.
    settling.add(outputs, known ? std::max({largest(weights.cwiseProduct(ahead - found)),
                                            largest(outputs_ahead - outputs),
                                            steps_of_slow * largest(weights.cwiseProduct(found - from))})
                                : INFINITY);
    out.change = settling.left();
    if (!plainly) {
      if (n >= first_ahead) slow.write(ahead, x);
      if (n == 1 || n == first_ahead + 3) heat_silencer(simulation, x);
      if (n >= first_silencer && n % between == 0 && all_light(latest))
        settle_silencer(simulation, period, latest, before, x);
    }
    if (longer_steps) {
      if (n >= most_by_longer || (extrapolated && settling.left() < near_end)) {
        use_steps_of_case();
      }
    } else if (n >= first_judged && settling.shown() > 0) {
      out.converged = true;
      out.last.erase(out.last.begin(), out.last.end() - settling.shown());
      co_return;  // with the cycle's own end, not one taken ahead
    }
    simulation.state() = std::move(x);
    if (n >= by_longer + most_accelerated + ConvergenceMonitor::seen_in && settling.goes_round()) break;
  }
  // What was taken ahead shows nothing.
  const int shown = std::clamp(plain(), 0, ConvergenceMonitor::seen_in);
  if (std::cmp_greater(out.last.size(), shown)) out.last.erase(out.last.begin(), out.last.end() - shown);
  out.why_not =
      fmt::format("after {} cycles the mixture still has to go, or changes by, {:.2g} %{}", out.cycles,
                  out.change * 100.0, out.cycles < options.most_cycles ? ": it goes round" : "");
}

SteadyCycle find_steady_cycle(Simulation& simulation, const SteadyOptions& options) {
  SteadyCycle out;
  march_to_steady_cycle(simulation, options, out).go_alone();
  return out;
}

}  // namespace glassbowl::sim
