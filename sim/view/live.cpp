#include "sim/api/live.hpp"

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
#include "sim/api/trace.hpp"
#include "sim/cases/resolved_case.hpp"
#include "sim/run/blip_lag.hpp"
#include "sim/run/channels.hpp"
#include "sim/run/find_case.hpp"
#include "sim/run/version.hpp"
#include "sim/solver/simulation.hpp"
#include "sim/trace/writer.hpp"
#include "sim/view/geometry.hpp"
#include "sim/view/triple_buffer.hpp"

namespace glassbowl::sim {
namespace {

using Clock = std::chrono::steady_clock;
constexpr double burst = 0.004;         // [s] of wall time between two looks at the queue
constexpr double late = 0.05;           // [s] behind which lost time is given up
constexpr double snap_wait = 0.15;      // [s] until the hand moves: the level before it must be known
constexpr double snap_movement = 0.06;  // [s]
constexpr double judged = 1.5;          // [s] after the movement's start
constexpr double longest_settle = 6.0;  // [s]
constexpr double hand = 0.02;           // [s] in which controls follow: no hand jumps

double wall_since(Clock::time_point begin) {
  return std::chrono::duration<double>(Clock::now() - begin).count();
}

ResolvedCase read_given(const std::string& given, const std::vector<std::string>& sets) {
  const auto file = find_case(given);
  if (!is_trace(file)) return read_case(file, sets);
  return read_case_text(TraceReader(file).case_resolved(), file.stem().string(), sets);
}

models::Schedule<> ramp(double t, double from, double to, double seconds) {
  if (from == to) return models::Schedule<>::constant(to);
  return models::Schedule<>(std::vector<std::pair<double, double>>{{t, from}, {t + seconds, to}});
}

std::string said(const BlipLag& lag) {
  const auto ms = [](double s) {
    return std::isfinite(s) ? fmt::format("{:.0f} ms", s * 1e3) : std::string("not reached");
  };
  return fmt::format("Blip lag: {} to half of the rise ({} to 90 %), leanest λ {:.2f}, {} misfires{}",
                     ms(lag.lag_50), ms(lag.lag_90), lag.leanest, lag.misfires,
                     lag.note.empty() ? "" : "; " + lag.note);
}

}  // namespace

struct LiveBench::State {
  State(const std::string& given, const std::vector<std::string>& sets)
      : source(given),
        first_sets(sets),
        resolved(read_given(given, sets)),
        title(resolved.title),
        channels(all_channels(resolved.bike)),
        geometry(geometry_of(resolved.bike)) {
    start();
    thread = std::thread([this] { run(); });
  }
  ~State() {
    quit = true;
    thread.join();
  }

  // --- the simulating thread's own -------------------------------------------------------------------
  void start() {
    watch.reset();
    controls = LiveControls{};
    const auto& bike = resolved.bike;
    controls.throttle = bike.rider.throttle(0.0);
    controls.choke = bike.rider.choke(0.0);
    controls.tap = bike.rider.tap(0.0);
    controls.altitude = bike.air.altitude(0.0);
    controls.speed = bike.load.speed(0.0);
    controls.load = static_cast<LiveLoad>(bike.load.kind);
    reader.reset();
    simulation = std::make_unique<Simulation>(bike, resolved.plan.step);
    settle_left = std::min(resolved.plan.settle, longest_settle);
    simulation->set_time(-settle_left);
    reader = std::make_unique<ChannelReader>(*simulation);
    cycle_row.resize(channels.cycle.size());
    anchor();
    batch().restarted = true;
  }

  LiveBatch& batch() { return buffer.back(); }

  void anchor() {
    wall_anchor = Clock::now();
    time_anchor = simulation->time();
  }

  /// Puts the present controls into the bike as short ramps from where they are.
  void take_hold(const LiveControls& wanted) {
    auto& bike = resolved.bike;
    const double t = simulation->time();
    bike.rider.throttle = ramp(t, bike.rider.throttle(t), wanted.throttle, hand);
    bike.rider.choke = ramp(t, bike.rider.choke(t), wanted.choke, hand);
    bike.rider.tap = ramp(t, bike.rider.tap(t), wanted.tap, hand);
    bike.rider.starter = ramp(t, bike.rider.starter(t), wanted.starter, hand);
    bike.air.altitude = ramp(t, bike.air.altitude(t), wanted.altitude, 10 * hand);
    bike.load.kind = static_cast<m::LoadKind>(wanted.load);
    bike.load.speed = ramp(t, std::as_const(*simulation).state()[simulation->network().layout().crank_speed],
                           wanted.speed, 0.3);
    bike.load.released = -1e9;
    controls = wanted;
    simulation->change_bike(bike);
  }

  void change_key(const std::string& key, const std::string& value) {
    auto sets = first_sets;
    for (const auto& [k, v] : changed) sets.push_back(k + "=" + v);
    sets.push_back(key + "=" + value);
    ResolvedCase fresh = read_given(source, sets);
    if (all_channels(fresh.bike).time.size() != channels.time.size())
      throw Error(ErrorKind::input,
                  key + ": this change takes or adds parts, which a running bike cannot; start anew with it");
    changed[key] = value;
    fresh.bike.rider = resolved.bike.rider;
    fresh.bike.air = resolved.bike.air;
    fresh.bike.load.kind = resolved.bike.load.kind;
    fresh.bike.load.speed = resolved.bike.load.speed;
    fresh.bike.load.released = resolved.bike.load.released;
    resolved = std::move(fresh);
    simulation->change_bike(resolved.bike);
    batch().geometry = geometry_of(resolved.bike);
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
    recorder.emplace(path, true, TraceHeader{resolved.title, std::string(program_version()), resolved.text},
                     plan);
    recorded = path;
  }

  void end_recording() {
    if (!recorder) return;
    recorder->finish("complete", {});
    recorder.reset();
    batch().messages.push_back("Recorded to " + recorded.string());
  }

  void row() {
    simulation->snapshot();
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
      if (watch_started) batch().messages.push_back(said(watch->finish(*simulation)));
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
        command();
      } catch (const std::exception& problem) {
        batch().messages.emplace_back(problem.what());
      }
  }

  void run() {
    try {
      while (settle_left > 0.0 && !quit) {
        const double next = std::min(0.0, simulation->time() + 0.02);
        if (!simulation->advance(next) || next >= 0.0) break;
      }
      anchor();
      row();
      publish(0.0);
      while (!quit) work();
      end_recording();
    } catch (const std::exception& failure) {
      batch().messages.push_back(std::string("The computation stopped: ") + failure.what());
      batch().stalled = true;
      publish(0.0);
    }
  }

  void work() {
    drain();
    if (restart) {
      restart = false;
      for (double t = simulation->time(); t < 0.0 && simulation->advance(std::min(0.0, t + 0.02));
           t = simulation->time()) {
      }
      anchor();
    }
    const auto begin = Clock::now();
    const double before = simulation->time();
    bool idle = true;
    if (!paused && !simulation->stalled()) {
      const double goal = time_anchor + wall_since(wall_anchor) * rate;
      while (simulation->time() + interval <= goal && wall_since(begin) < burst && !simulation->stalled()) {
        advance_row();
        idle = false;
      }
      if (goal - simulation->time() > late * rate + interval) anchor();
    } else {
      anchor();
    }
    batch().stalled = simulation->stalled();
    const double wall = wall_since(last_work);
    last_work = Clock::now();
    if (wall > 0.0) achieved += std::min(1.0, wall / 0.5) * ((simulation->time() - before) / wall - achieved);
    publish(achieved);
    if (idle) std::this_thread::sleep_for(std::chrono::milliseconds(1));
  }

  /// Gives the written slot away once the last one was taken; until then rows gather in it.
  void publish(double achieved_rate) {
    batch().achieved_rate = achieved_rate;
    if (!buffer.taken()) return;
    buffer.publish();
    auto& fresh = batch();
    fresh.times.clear();
    fresh.values.clear();
    fresh.cycle_values.clear();
    fresh.messages.clear();
    fresh.geometry.reset();
    fresh.cycles = 0;
    fresh.restarted = false;
  }

  std::string source;
  std::vector<std::string> first_sets;
  ResolvedCase resolved;
  const std::string title;
  const ChannelList channels;

  const Geometry geometry;
  std::map<std::string, std::string> changed;
  LiveControls controls;
  std::unique_ptr<Simulation> simulation;
  std::unique_ptr<ChannelReader> reader;
  std::unique_ptr<BlipWatch> watch;
  bool watch_started = false, restart = false;
  std::optional<TraceWriter> recorder;
  std::filesystem::path recorded;
  std::vector<double> cycle_row;
  double interval = 2.5e-4, rate = 1.0, time_anchor = 0.0, settle_left = 0.0, achieved = 0.0;
  bool paused = true;
  Clock::time_point wall_anchor = Clock::now(), last_work = Clock::now();

  // --- shared ----------------------------------------------------------------------------------------
  TripleBuffer<LiveBatch> buffer;
  std::mutex mutex;
  std::vector<std::function<void()>> queue;
  std::atomic<bool> quit{false};
  std::thread thread;

  void ask(std::function<void()> command) {
    const std::lock_guard lock(mutex);
    queue.push_back(std::move(command));
  }
};

LiveBench::LiveBench(const std::string& given, const std::vector<std::string>& sets)
    : state_(std::make_unique<State>(given, sets)) {}
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
const Geometry& LiveBench::geometry() const {
  return state_->geometry;
}

void LiveBench::set_controls(const LiveControls& controls) {
  state_->ask([s = state_.get(), controls] { s->take_hold(controls); });
}
void LiveBench::set_rate(double rate) {
  state_->ask([s = state_.get(), rate] {
    s->rate = rate;
    s->anchor();
  });
}
void LiveBench::set_row_interval(double seconds) {
  state_->ask([s = state_.get(), seconds] { s->interval = std::clamp(seconds, 2e-5, 1e-2); });
}
void LiveBench::set_paused(bool paused) {
  state_->ask([s = state_.get(), paused] { s->paused = paused; });
}
void LiveBench::set_key(const std::string& key, const std::string& value) {
  state_->ask([s = state_.get(), key, value] { s->change_key(key, value); });
}
void LiveBench::snap(double opening, double hold) {
  state_->ask([s = state_.get(), opening, hold] { s->snap_open(opening, hold); });
}
void LiveBench::reset() {
  state_->ask([s = state_.get()] {
    s->end_recording();
    auto sets = s->first_sets;
    for (const auto& [k, v] : s->changed) sets.push_back(k + "=" + v);
    s->resolved = read_given(s->source, sets);
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

bool LiveBench::take(LiveBatch& batch) {
  if (!state_->buffer.refresh()) return false;
  batch = state_->buffer.front();
  return true;
}

}  // namespace glassbowl::sim
