#include "sim/run/blip_lag.hpp"

#include <algorithm>
#include <cmath>
#include <exception>
#include <system_error>
#include <thread>
#include <utility>

namespace glassbowl::sim {
namespace {

constexpr double history = 0.6;         // [s] before the movement: a whole cycle at the slowest idle
constexpr double least_speed = 5.0;     // [rad/s] a smaller rise of the yardstick is none
constexpr double least_torque = 1.0;    // [N m]
constexpr double least_volume = 1e-10;  // [m³] a pump that gave less gave nothing

}  // namespace

struct BlipWatch::Yardstick {
  Yardstick(const Simulation& simulation, ResponseTrack track_so_far, double until)
      : copy(simulation), track(std::move(track_so_far)), end(until) {
    clear_intake_of_fuel(copy);
    copy.use_ideal_mixture(ideal_lambda);
    try {
      thread = std::thread([this] { run(); });
    } catch (const std::system_error&) {  // no thread to be had: it is run when it is asked for
    }
  }
  ~Yardstick() {
    if (thread.joinable()) thread.join();
  }

  /// Comes back when the run has ended.
  void await() {
    if (thread.joinable())
      thread.join();
    else
      run();
  }

  void run() {
    try {
      const double first = copy.time();
      for (long i = 1;; ++i) {
        const double at = first + static_cast<double>(i) * ResponseTrack::interval;
        if (at > end || !copy.advance(at)) break;
        track.sample(copy);
      }
    } catch (const std::exception& failure) {
      problem = failure.what();
    }
  }

  Simulation copy;
  ResponseTrack track;
  double end;
  std::string problem;
  std::thread thread;
};

void clear_intake_of_fuel(Simulation& simulation) {
  const auto& network = simulation.network();
  const auto& states = network.states();
  const auto& gas = network.gas_data();
  const auto temperatures = simulation.outputs().gas;
  State& x = simulation.state();
  for (std::size_t v = 0; v < states.volumes.intake().end(); ++v) {
    auto gas_of = states.gas.load(x.data(), v);
    auto& y = gas_of.mass;
    const double T = temperatures[v].temperature;
    const double air = y[m::vapour] * gas.R[m::vapour] / gas.R[m::air];
    gas_of.energy += air * m::internal_energy(gas, m::air, T) -
                     y[m::vapour] * m::internal_energy(gas, m::vapour, T) -
                     y[m::droplets] * m::internal_energy(gas, m::droplets, T);
    y[m::air] += air;
    y[m::vapour] = y[m::droplets] = 0.0;
    states.gas.store(x.data(), v, gas_of);
  }
  for (const auto& film : states.films) film.store(x.data(), m::WallFilmState<double>{0.0});
}

BlipWatch::BlipWatch(const Simulation& simulation, const ThrottleMovement& movement)
    : movement_(movement),
      track_(simulation),
      charge_(simulation.trapped()),
      counts_(charge_.size(), false),
      lean_area_(charge_.size(), 0.0) {
  track_.reserve(movement.end - movement.start + history);
}

BlipWatch::~BlipWatch() = default;

double BlipWatch::begin_watching() const {
  return movement_.start - history;
}

void BlipWatch::sample(const Simulation& simulation) {
  const double since = simulation.time() - track_.last();
  track_.sample(simulation);
  misfires_ = simulation.misfires();
  for (std::size_t k = 0; k < charge_.size(); ++k) {
    const Trapped& now = simulation.trapped()[k];
    if (yardstick_ && counts_[k])
      lean_area_[k] += std::clamp(charge_[k].lambda - lean, 0.0, leanest_counted - lean) * since;
    if (now.mass == charge_[k].mass) continue;
    charge_[k] = now;
    if (!yardstick_) continue;
    counts_[k] = true;
    leanest_ = std::fmax(leanest_, now.lambda);
    richest_ = std::fmin(richest_, now.lambda);
  }
}

void BlipWatch::start(const Simulation& simulation) {
  misfires_before_ = misfires_ = simulation.misfires();
  yardstick_ = std::make_unique<Yardstick>(simulation, track_, movement_.end);
}

BlipLag BlipWatch::finish(const Simulation& simulation) {
  BlipLag out;
  out.start = movement_.start;
  out.end = movement_.end;
  out.torque = track_.measures_torque();
  out.leanest = leanest_;
  out.richest = richest_;
  out.lean_area = *std::max_element(lean_area_.begin(), lean_area_.end());
  out.misfires = misfires_ - misfires_before_;
  if (!yardstick_) {
    out.note = "the run ended before the throttle moved";
    return out;
  }
  yardstick_->await();
  judge_pump_and_piston(out, simulation);
  if (!yardstick_->problem.empty()) {
    out.note = "the run with ideal mixture failed: " + yardstick_->problem;
    return out;
  }
  judge_response(out, yardstick_->track);
  return out;
}

void BlipWatch::judge_response(BlipLag& out, const ResponseTrack& ideal) const {
  const auto wanted = ideal.cycle_means();
  const auto got = track_.cycle_means();
  const auto cycle = ideal.first_cycle();
  if (!cycle || wanted.back().time < movement_.start ||
      wanted.front().time > movement_.start - 0.5 * *cycle) {
    out.note = "the engine did not turn a whole cycle before and after the throttle moved";
    return;
  }
  // The last mean that lies wholly before the movement.
  out.before = value_at(wanted, movement_.start - 0.5 * *cycle);
  out.peak = out.before;
  for (const auto& point : wanted)
    if (point.time >= movement_.start) out.peak = std::max(out.peak, point.value);
  const double rise = out.peak - out.before;
  if (rise < (out.torque ? least_torque : least_speed)) {
    out.note = "with ideal mixture the engine did not rise either";
    return;
  }
  const auto judge = [&](double share, double& actual, double& yardstick, double& lag) {
    const double level = out.before + share * rise;
    if (const auto t = first_rise(wanted, movement_.start, level)) yardstick = *t - movement_.start;
    if (const auto t = first_rise(got, movement_.start, level)) actual = *t - movement_.start;
    lag = actual - yardstick;
  };
  judge(0.1, out.rise_10, out.yardstick_10, out.lag_10);
  judge(0.5, out.rise_50, out.yardstick_50, out.lag_50);
  judge(0.9, out.rise_90, out.yardstick_90, out.lag_90);
}

void BlipWatch::judge_pump_and_piston(BlipLag& out, const Simulation& simulation) const {
  const auto& network = simulation.network();
  if (network.states().carburetors.front().pump.fitted()) {
    const auto pumped = track_.pump_delivered();
    const double first = value_at(pumped, movement_.start);
    const double total = value_at(pumped, movement_.end) - first;
    out.pump_volume = total / network.fuel_density();
    if (out.pump_volume > least_volume) {
      const auto begin = first_rise(pumped, movement_.start, first + 0.05 * total);
      const auto end = first_rise(pumped, movement_.start, first + 0.95 * total);
      if (begin && end) out.pump_duration = *end - *begin;
    }
  }
  if (network.states().carburetors.front().piston.fitted()) {
    const auto lift = track_.piston_lift();
    const double first = value_at(lift, movement_.start);
    double highest = first;
    for (const auto& point : lift)
      if (point.time >= movement_.start) highest = std::max(highest, point.value);
    if (highest - first > 1e-4)
      if (const auto t = first_rise(lift, movement_.start, 0.5 * (first + highest)))
        out.lift_50 = *t - movement_.start;
  }
}

}  // namespace glassbowl::sim
