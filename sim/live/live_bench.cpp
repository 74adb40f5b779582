#include "sim/api/live_bench.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <atomic>
#include <chrono>
#include <cmath>
#include <functional>
#include <map>
#include <mutex>
#include <thread>
#include <utility>

#include "sim/api/error.hpp"
#include "sim/bike/resolved_case.hpp"
#include "sim/live/drawing_dimensions_of.hpp"
#include "sim/live/given_case.hpp"
#include "sim/live/triple_buffer.hpp"
#include "sim/run/blip_lag.hpp"
#include "sim/run/channels.hpp"
#include "sim/run/version.hpp"
#include "sim/solver/simulation.hpp"
#include "sim/trace/trace_writer.hpp"

namespace glassbowl::sim {
namespace {

using Clock = std::chrono::steady_clock;
constexpr double burst = 0.004;            // [s] of wall time between two looks at the queue
constexpr double snap_wait = 0.15;         // [s] until the hand moves: the level before it must be known
constexpr double snap_movement = 0.06;     // [s]
constexpr double judged = 1.5;             // [s] after the movement's start
constexpr double longest_settle = 6.0;     // [s]
constexpr double hand = 0.02;              // [s] in which controls follow: no hand jumps
constexpr double climb = 0.2, spin = 0.3;  // [s] in which altitude and a held speed follow

double wall_since(Clock::time_point begin) {
  return std::chrono::duration<double>(Clock::now() - begin).count();
}

models::Schedule<> ramp(double t, double from, double to, double seconds) {
  if (from == to) return models::Schedule<>::constant(to);
  return models::Schedule<>(std::vector<std::pair<double, double>>{{t, from}, {t + seconds, to}});
}

LiveBlip figures_of(const BlipLag& lag) {
  return {lag.lag_50, lag.lag_90, lag.leanest, lag.misfires, lag.note};
}

}  // namespace

struct LiveBench::State {
  State(const std::string& given, const std::vector<std::string>& sets, std::shared_ptr<LiveClock> shared)
      : source(given),
        first_sets(sets),
        resolved(read_given(given, sets)),
        title(resolved.title),
        channels(all_channels(resolved.bike)),
        geometry(drawing_dimensions_of(resolved.bike)),
        clock(std::move(shared)),
        place(clock->join()) {
    start();
    thread = std::thread([this] { run(); });
  }
  ~State() {
    quit = true;
    thread.join();
    clock->leave(place);
  }

  // --- the simulating thread's own -------------------------------------------------------------------
  void start() {
    watch.reset();
    reader.reset();
    simulation = std::make_unique<Simulation>(resolved.bike, resolved.plan.step);
    simulation->set_time(-std::min(resolved.plan.settle, longest_settle));
    reader = std::make_unique<ChannelReader>(*simulation);
    cycle_row.resize(channels.cycle.size());
    batch().restarted = true;
  }

  LiveBatch& batch() { return buffer.back(); }

  /// Runs up to time 0 without rows; the others wait.
  void settle() {
    clock->begin(place);
    while (simulation->time() < 0.0 && !quit &&
           simulation->advance(std::min(0.0, simulation->time() + 0.02))) {
    }
    row();
    publish(0.0);
  }

  /// Where movements that are under way will end.
  LiveControls controls_now() const {
    const auto& bike = resolved.bike;
    const double t = simulation->time(), there = t + hand;
    return {bike.rider.throttle(there), bike.rider.choke(there),      bike.rider.tap(there),
            bike.rider.starter(there),  bike.air.altitude(t + climb), static_cast<LiveLoad>(bike.load.kind),
            bike.load.speed(t + spin)};
  }

  /// Puts the present controls into the bike as short ramps from where they are.
  void take_hold(const LiveControls& wanted) {
    auto& bike = resolved.bike;
    const double t = simulation->time();
    bike.rider.throttle = ramp(t, bike.rider.throttle(t), wanted.throttle, hand);
    bike.rider.choke = ramp(t, bike.rider.choke(t), wanted.choke, hand);
    bike.rider.tap = ramp(t, bike.rider.tap(t), wanted.tap, hand);
    bike.rider.starter = ramp(t, bike.rider.starter(t), wanted.starter, hand);
    bike.air.altitude = ramp(t, bike.air.altitude(t), wanted.altitude, climb);
    bike.load.kind = static_cast<m::LoadKind>(wanted.load);
    bike.load.speed =
        ramp(t, simulation->network().states().crank.load(std::as_const(*simulation).state().data()).speed,
             wanted.speed, spin);
    bike.load.released = -1e9;
    simulation->change_bike(bike);
  }

  void change_key(const std::string& key, const std::string& value) {
    auto wanted = changed;
    value.empty() ? (void)wanted.erase(key) : (void)(wanted[key] = value);
    change_keys(wanted, key);
  }

  /// A refusal speaks of `what`.
  void change_keys(const LiveChanges& wanted, const std::string& what) {
    if (wanted == changed) return;
    auto sets = first_sets;
    for (const auto& [k, v] : wanted) sets.push_back(k + "=" + v);
    ResolvedCase fresh = read_given(source, sets);
    if (all_channels(fresh.bike).time.size() != channels.time.size())
      throw Error(
          ErrorKind::input,
          what + ": this change adds or removes parts, which a running bike cannot; start a new run with it");
    changed = wanted;
    fresh.bike.rider = resolved.bike.rider;
    fresh.bike.air = resolved.bike.air;
    fresh.bike.load.kind = resolved.bike.load.kind;
    fresh.bike.load.speed = resolved.bike.load.speed;
    fresh.bike.load.released = resolved.bike.load.released;
    resolved = std::move(fresh);
    simulation->change_bike(resolved.bike);
    batch().geometry = drawing_dimensions_of(resolved.bike);
  }

  void snap_open(double opening, double hold) {
    auto& bike = resolved.bike;
    const double t = simulation->time(), from = bike.rider.throttle(t), start = t + snap_wait;
    bike.rider.throttle =
        models::Schedule<>(std::vector<std::pair<double, double>>{{start, from},
                                                                  {start + snap_movement, opening},
                                                                  {start + snap_movement + hold, opening},
                                                                  {start + 2 * snap_movement + hold, from}});
    simulation->change_bike(bike);
    watch = std::make_unique<BlipWatch>(*simulation, ThrottleMovement{start, start + std::min(judged, hold)});
    watch_started = false;
  }

  void begin_recording(const std::filesystem::path& path) {
    TracePlan plan;
    plan.time_channels = channels.time;
    plan.cycle_channels = channels.cycle;
    plan.expected_rows = 200000;
    recorder.emplace(path, false, TraceHeader{resolved.title, std::string(program_version()), resolved.text},
                     plan);
    recorded = path;
  }

  void end_recording() {
    if (!recorder) return;
    auto ending = std::exchange(recorder, std::nullopt);  // whatever comes of it, it takes no more rows
    try {
      ending->finish("complete", {});
      batch().messages.push_back("Recorded to " + recorded.string());
    } catch (const Error& failure) {  // the bike runs on
      batch().messages.emplace_back(failure.what());
    }
  }

  void row() {
    simulation->outputs();
    const auto values = reader->read_current();
    auto& b = batch();
    if (b.times.size() >= LiveBench::most_waiting_rows) {
      b.times.clear();
      b.values.clear();
    }
    b.times.push_back(simulation->time());
    for (const double v : values) b.values.push_back(static_cast<float>(v));
    if (recorder && simulation->time() >= 0.0) recorder->time_row(simulation->time(), values);
  }

  void cycle(const Cycle& c) {
    fill_cycle_row(c, cycle_row);
    auto& b = batch();
    b.cycle_values.insert(b.cycle_values.end(), cycle_row.begin(), cycle_row.end());
    ++b.cycles;
    if (recorder && c.start >= 0.0) recorder->cycle_row(static_cast<double>(c.number), cycle_row);
  }

  void advance_row() {
    const double target = simulation->time() + interval;
    while (simulation->time() < target - 1e-12 && !simulation->stalled()) {
      double next = target;
      if (watch && watch->watching(simulation->time())) {
        const double t = simulation->time();
        const bool starts = !watch_started && t >= watch->movement().start - 1e-9;
        if (starts || watch->due(t)) watch->sample(*simulation);
        if (starts) {
          watch_started = true;
          watch->start(*simulation);
        }
        for (const double stop : {watch->next_sample(), watch->movement().start})
          if (stop > t + 1e-9 && stop < next) next = stop;
      }
      simulation->advance(next, [this](const Cycle& c) { cycle(c); });
    }
    row();
    if (watch && simulation->time() > watch->movement().end) {
      if (watch_started) batch().blip = figures_of(watch->finish(*simulation));
      watch.reset();
    }
  }

  void drain() {
    std::vector<std::function<void()>> todo;
    {
      const std::lock_guard lock(mutex);
      todo.swap(queue);
    }
    for (const auto& command : todo) try {
        ++handled;
        command();
      } catch (const std::exception& problem) {
        batch().messages.emplace_back(problem.what());
      }
  }

  void run() {
    try {
      settle();
      while (!quit) work();
      end_recording();
    } catch (const std::exception& failure) {
      batch().messages.push_back(std::string("The computation stopped: ") + failure.what());
      batch().stalled = true;
      clock->leave(place);
      publish(0.0);
    }
  }

  void work() {
    drain();
    if (restart) {
      restart = false;
      settle();
    }
    const auto begin = Clock::now();
    const double before = simulation->time();
    bool idle = true;
    if (simulation->stalled()) {
      clock->leave(place);
    } else {
      while (simulation->time() + interval <= clock->goal(place, simulation->time()) + 1e-12 &&
             wall_since(begin) < burst && !simulation->stalled()) {
        advance_row();
        idle = false;
      }
    }
    const double wall = wall_since(last_work);
    last_work = Clock::now();
    if (wall > 0.0) achieved += std::min(1.0, wall / 0.5) * ((simulation->time() - before) / wall - achieved);
    publish(achieved);
    if (idle) std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }

  /// Gives the written slot away once the last one was taken; until then rows gather in it.
  void publish(double achieved_rate) {
    auto& full = batch();
    full.achieved_rate = achieved_rate;
    full.stalled = simulation->stalled();
    full.controls = controls_now();
    full.changes = changed;
    full.handled = handled;
    full.recording = recorder.has_value();
    if (!buffer.taken()) return;
    buffer.publish();
    auto& fresh = batch();
    fresh.times.clear();
    fresh.values.clear();
    fresh.cycle_values.clear();
    fresh.messages.clear();
    fresh.geometry.reset();
    fresh.blip.reset();
    fresh.cycles = 0;
    fresh.restarted = false;
  }

  std::string source;
  std::vector<std::string> first_sets;
  ResolvedCase resolved;
  const std::string title;
  const ChannelList channels;

  const DrawingDimensions geometry;
  const std::shared_ptr<LiveClock> clock;
  const std::size_t place;  // at the clock
  LiveChanges changed;
  std::unique_ptr<Simulation> simulation;
  std::unique_ptr<ChannelReader> reader;
  std::unique_ptr<BlipWatch> watch;
  bool watch_started = false, restart = false;
  std::size_t handled = 0;
  std::optional<TraceWriter> recorder;
  std::filesystem::path recorded;
  std::vector<double> cycle_row;
  double interval = 2.5e-4, achieved = 0.0;
  Clock::time_point last_work = Clock::now();

  // --- shared ----------------------------------------------------------------------------------------
  TripleBuffer<LiveBatch> buffer;
  std::mutex mutex;
  std::vector<std::function<void()>> queue;
  std::atomic<std::size_t> requests{0};
  std::atomic<bool> quit{false};
  std::thread thread;

  void ask(std::function<void()> command) {
    const std::lock_guard lock(mutex);
    queue.push_back(std::move(command));
    ++requests;
  }
};

LiveBench::LiveBench(const std::string& given, const std::vector<std::string>& sets,
                     std::shared_ptr<LiveClock> clock)
    : state_(std::make_unique<State>(given, sets, std::move(clock))) {}
LiveBench::~LiveBench() = default;

const std::string& LiveBench::title() const {
  return state_->title;
}
const std::vector<Channel>& LiveBench::channels() const {
  return state_->channels.time;
}
const std::vector<Channel>& LiveBench::cycle_channels() const {
  return state_->channels.cycle;
}
const DrawingDimensions& LiveBench::geometry() const {
  return state_->geometry;
}

void LiveBench::set_controls(const LiveControls& controls) {
  state_->ask([s = state_.get(), controls] { s->take_hold(controls); });
}
void LiveBench::set_row_interval(double seconds) {
  state_->ask([s = state_.get(), seconds] { s->interval = std::clamp(seconds, 2e-5, 1e-2); });
}
void LiveBench::set_key(const std::string& key, const std::string& value) {
  state_->ask([s = state_.get(), key, value] { s->change_key(key, value); });
}
void LiveBench::snap(double opening, double hold) {
  state_->ask([s = state_.get(), opening, hold] { s->snap_open(opening, hold); });
}
void LiveBench::set_changes(const LiveChanges& changes) {
  state_->ask([s = state_.get(), changes] { s->change_keys(changes, "the parts"); });
}
void LiveBench::reset(LiveRestart how) {
  state_->ask([s = state_.get(), how] {
    s->end_recording();
    if (how == LiveRestart::as_in_case) s->changed.clear();
    auto sets = s->first_sets;
    for (const auto& [k, v] : s->changed) sets.push_back(k + "=" + v);
    s->resolved = read_given(s->source, sets);
    s->batch().geometry = drawing_dimensions_of(s->resolved.bike);
    s->start();
    s->restart = true;
  });
}
void LiveBench::record(const std::filesystem::path& trace) {
  state_->ask([s = state_.get(), trace] { s->begin_recording(trace); });
}
void LiveBench::stop_recording() {
  state_->ask([s = state_.get()] { s->end_recording(); });
}

std::size_t LiveBench::requests() const {
  return state_->requests;
}

bool LiveBench::take(LiveBatch& batch) {
  if (!state_->buffer.refresh()) return false;
  batch = state_->buffer.front();
  return true;
}

}  // namespace glassbowl::sim
