#include <SFML/Window/Keyboard.hpp>

#include <algorithm>
#include <atomic>
#include <catch2/catch.hpp>
#include <chrono>
#include <fstream>
#include <thread>

#include "sim/api/live_bench.hpp"
#include "sim/api/trace.hpp"
#include "sim/live/triple_buffer.hpp"
#include "tests/viz/pixels.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/panels/app.hpp"
#include "viz/source/live_source.hpp"

namespace glassbowl::viz {
namespace {

using namespace std::chrono_literals;

/// Takes rows in until `done` or ten seconds have passed.
template <class Done>
bool wait_for(LiveSource& source, Done done) {
  for (int i = 0; i < 2000; ++i) {
    source.refresh();
    if (done()) return true;
    std::this_thread::sleep_for(5ms);
  }
  return false;
}

const std::vector<std::string> held{"load.kind=held_speed", "load.speed=3000 1/min", "rider.throttle=20 %",
                                    "run.settle=0.2 s"};
std::shared_ptr<sim::LiveClock> paused() {
  return std::make_shared<sim::LiveClock>();
}
std::shared_ptr<sim::LiveClock> going() {
  auto clock = paused();
  clock->set_paused(false);
  return clock;
}
/// One or two live bikes with the view and the controls of a window.
struct Bench {
  explicit Bench(const std::vector<std::string>& cases, const std::string& settle = "0.5 s")
      : sets{"run.settle=" + settle},
        clock(going()),
        view(test_font(), open(cases[0]), cases.size() > 1 ? open(cases[1]) : nullptr),
        left(benches[0]),
        right(benches.back()),
        app(view, test_font(), benches, clock) {
    wait();
  }
  std::unique_ptr<Source> open(const std::string& name) {
    auto source = std::make_unique<LiveSource>(name, sets, clock);
    benches.push_back(source.get());
    return source;
  }
  /// Until every bike runs and has answered all that was asked.
  void wait() {
    CHECK(wait_for(*benches[0], [&] {
      benches.back()->refresh();
      return std::all_of(benches.begin(), benches.end(),
                         [](const LiveSource* b) { return b->answered() && !b->empty(); });
    }));
    app.follow_controls();
  }
  std::vector<std::string> sets;
  std::shared_ptr<sim::LiveClock> clock;
  std::vector<LiveSource*> benches;
  View view;
  LiveSource *left, *right;
  App app;
};

const std::string bike = std::string(GLASSBOWL_CASES) + "/runs/warm_idle.toml";

}  // namespace

TEST_CASE("triple buffer: the reader sees whole values, never older ones again", "[viz][live]") {
  sim::TripleBuffer<std::array<long, 64>> buffer;
  std::atomic<bool> stop{false};
  std::thread writer([&] {
    for (long i = 1; !stop; ++i) {
      buffer.back().fill(i);
      buffer.publish();
    }
  });
  long last = 0;
  int fresh = 0;
  bool whole = true, rising = true;
  while (fresh < 20000) {
    if (!buffer.refresh()) continue;
    ++fresh;
    const auto& values = buffer.front();
    for (const long v : values) whole = whole && v == values[0];
    rising = rising && values[0] > last;
    last = values[0];
  }
  stop = true;
  writer.join();
  CHECK(whole);
  CHECK(rising);
}

TEST_CASE("live bench: time passes only while it plays, and rows come in order", "[viz][live]") {
  const auto clock = paused();
  LiveSource source(bike, held, clock);
  REQUIRE(wait_for(source, [&] { return source.end_row() > 0; }));
  const double still = source.last_time();
  std::this_thread::sleep_for(100ms);
  source.refresh();
  CHECK(source.last_time() == still);
  clock->set_paused(false);
  REQUIRE(wait_for(source, [&] { return source.last_time() > still + 0.1; }));
  bool ordered = true;
  for (std::size_t row = source.first_row() + 1; row < source.end_row(); ++row)
    ordered = ordered && source.row_time(row) > source.row_time(row - 1);
  CHECK(ordered);
  CHECK(wait_for(source, [&] { return source.cycles() > 1; }));
}

TEST_CASE("live bench: the throttle follows the hand and a changed jet the geometry", "[viz][live]") {
  LiveSource source(bike, held, going());
  REQUIRE(wait_for(source, [&] { return source.end_row() > 10; }));
  sim::LiveControls controls;
  controls.load = sim::LiveLoad::held_speed;
  controls.speed = 314.0;
  controls.throttle = 0.5;
  source.bench().set_controls(controls);
  const int throttle = source.find("throttle");
  CHECK(wait_for(source, [&] { return source.value(throttle, source.end_row() - 1) > 0.499; }));
  source.bench().set_key("carburetor.main.jet.bore", "1.2 mm");
  REQUIRE(wait_for(source, [&] { return source.geometry_changes() > 0; }));
  CHECK(source.geometry().main_jet.bore == Approx(1.2e-3));
  // The bike runs on: no row says that it stopped or began anew.
  CHECK_FALSE(source.stalled());
  CHECK(source.value(source.find("speed"), source.end_row() - 1) > 250.0);
}

TEST_CASE("live bench: an impossible change is said and changes nothing", "[viz][live][anomaly]") {
  LiveSource source(bike, held, paused());
  source.bench().set_key("carburetor.main.jet.bore", "1.2 kg");
  std::vector<std::string> messages;
  REQUIRE(wait_for(source, [&] {
    for (auto& m : source.take_messages()) messages.push_back(m);
    return !messages.empty();
  }));
  CHECK(messages[0].find("main.jet") != std::string::npos);
  CHECK(source.geometry_changes() == 0);
}

TEST_CASE("live bench: what is recorded opens as a trace", "[viz][live]") {
  const auto file = RunFiles::folder() / "recorded.h5";
  {
    const auto clock = paused();
    LiveSource source(bike, held, clock);
    source.bench().record(file);
    clock->set_paused(false);
    REQUIRE(wait_for(source, [&] { return !source.empty() && source.last_time() > 0.1; }));
    source.bench().stop_recording();
    CHECK(wait_for(source, [&] { return !source.take_messages().empty(); }));
  }
  const sim::TraceReader trace(file);
  CHECK(trace.complete());
  CHECK(trace.rows() > 50);
}

TEST_CASE("live clock: the faster bike waits for the slower, and lost time is given up", "[viz][live]") {
  sim::LiveClock clock;
  const auto first = clock.join(), second = clock.join();
  clock.set_paused(false);
  // Nobody runs before all are there.
  CHECK(clock.goal(first, 0.0) < 0.0);
  clock.goal(second, 0.0);
  std::this_thread::sleep_for(200ms);
  // The second has not moved: the first may lead by two hundredths, not by two tenths.
  CHECK(clock.goal(first, 0.0) <= 0.022);
  clock.leave(second);
  clock.goal(first, 0.0);
  std::this_thread::sleep_for(20ms);
  CHECK(clock.goal(first, 0.0) >= 0.019);
  clock.set_paused(true);
  CHECK(clock.goal(first, 0.0) < 0.0);
}

TEST_CASE("live bench: two bikes on one clock stay in step, through slow motion and a new start",
          "[viz][live]") {
  const auto clock = going();
  LiveSource left(bike, held, clock),
      right(std::string(GLASSBOWL_CASES) + "/runs/blip_piston.toml", held, clock);
  const auto both_reach = [&](double time) {
    return wait_for(left, [&] {
      right.refresh();
      return !left.empty() && !right.empty() && std::min(left.last_time(), right.last_time()) > time;
    });
  };
  // Held still, so that what one has done and the other has not yet told plays no part.
  const auto apart = [&] {
    clock->set_paused(true);
    for (int still = 0; still < 80;) {
      const std::size_t rows = left.end_row() + right.end_row();
      std::this_thread::sleep_for(5ms);
      left.refresh();
      right.refresh();
      still = left.end_row() + right.end_row() == rows ? still + 1 : 0;
    }
    clock->set_paused(false);
    return std::abs(left.last_time() - right.last_time());
  };
  REQUIRE(both_reach(0.3));
  CHECK(apart() <= 0.023);
  clock->set_rate(0.05);
  REQUIRE(both_reach(std::max(left.last_time(), right.last_time()) + 0.005));
  CHECK(apart() <= 0.003);
  left.bench().reset();
  right.bench().reset();
  REQUIRE(wait_for(left, [&] {
    right.refresh();
    return left.last_time() < 0.1 && right.last_time() < 0.1;
  }));
  REQUIRE(both_reach(0.005));
  CHECK(apart() <= 0.003);
}

TEST_CASE("live bench: a snapped throttle is judged", "[viz][live]") {
  LiveSource source(bike, {}, going());
  REQUIRE(wait_for(source, [&] { return source.end_row() > 10; }));
  CHECK_FALSE(source.blip());
  source.bench().snap(0.6, 0.4);
  REQUIRE(wait_for(source, [&] { return source.blip().has_value(); }));
  const double most = [&] {
    double highest = 0.0;
    for (std::size_t row = source.first_row(); row < source.end_row(); ++row)
      highest = std::max(highest, source.value(source.find("throttle"), row));
    return highest;
  }();
  CHECK(most == Approx(0.6).margin(0.01));
  CHECK(source.blip()->leanest > 0.3);
  CHECK(source.blip()->leanest < 3.0);
  CHECK(std::abs(source.blip()->half) < 0.4);
}

TEST_CASE("live bench: load, altitude, tap and starter are what hands set, others stay as they were",
          "[viz][live]") {
  LiveSource source(bike, held, going());
  REQUIRE(wait_for(source, [&] { return source.end_row() > 10; }));
  const auto before = source.controls();
  CHECK(before.load == sim::LiveLoad::held_speed);
  CHECK(before.throttle == Approx(0.2));
  auto wanted = before;
  wanted.altitude = 2700.0;
  wanted.load = sim::LiveLoad::in_gear;
  wanted.tap = 0.0;
  source.bench().set_controls(wanted);
  const int altitude = source.find("altitude");
  REQUIRE(wait_for(source, [&] { return source.value(altitude, source.end_row() - 1) > 2699.0; }));
  CHECK(source.controls().load == sim::LiveLoad::in_gear);
  CHECK(source.controls().tap == Approx(0.0).margin(1e-9));
  CHECK(source.controls().throttle == Approx(0.2));
}

TEST_CASE("live bench: a fault comes and goes while it runs, and a new start gives the case back",
          "[viz][live]") {
  LiveSource source(bike, held, going());
  REQUIRE(wait_for(source, [&] { return source.end_row() > 10; }));
  const double healthy = source.geometry().main_jet.blocked;
  source.bench().set_key("carburetor.main.jet.blocked", "\"50 %\"");
  REQUIRE(wait_for(source, [&] { return source.geometry_changes() > 0; }));
  CHECK(source.geometry().main_jet.blocked == Approx(0.5));
  source.bench().set_key("carburetor.main.jet.blocked", "");
  REQUIRE(wait_for(source, [&] { return source.geometry_changes() > 1; }));
  CHECK(source.geometry().main_jet.blocked == healthy);
  sim::LiveControls controls = source.controls();
  controls.throttle = 0.9;
  source.bench().set_controls(controls);
  const int throttle = source.find("throttle");
  REQUIRE(wait_for(source, [&] { return source.value(throttle, source.end_row() - 1) > 0.89; }));
  source.bench().reset();
  CHECK(wait_for(source, [&] {
    return source.last_time() < 0.2 && source.value(throttle, source.end_row() - 1) == Approx(0.2);
  }));
}

TEST_CASE("live bench: a new start gives back parts and faults as in the case, or keeps them",
          "[viz][live]") {
  LiveSource source(bike, held, going());
  REQUIRE(wait_for(source, [&] { return source.end_row() > 10; }));
  const double first = source.geometry().main_jet.bore;
  source.bench().set_changes(
      {{"carburetor.main.jet.bore", "\"1.2 mm\""}, {"manifold.leak_area", "\"10 mm2\""}});
  REQUIRE(wait_for(source, [&] { return source.answered(); }));
  CHECK(source.changed_keys() == 2);
  source.bench().reset(sim::LiveRestart::keep_changes);
  REQUIRE(wait_for(source, [&] { return source.answered() && source.last_time() < 0.2; }));
  CHECK(source.changed_keys() == 2);
  CHECK(source.geometry().main_jet.bore == Approx(1.2e-3));
  source.bench().reset(sim::LiveRestart::as_in_case);
  REQUIRE(wait_for(source, [&] { return source.answered(); }));
  CHECK(source.changed_keys() == 0);
  CHECK(source.geometry().main_jet.bore == first);
}

TEST_CASE("live bench: an engine that a fault has stalled runs again after a restart as in the case",
          "[viz][live]") {
  Bench bench({bike}, "5 s");
  auto& source = *bench.left;
  const int speed = source.find("speed");
  bench.app.set_part("carburetor.slow.jet.blocked", "\"99.9 %\"");
  REQUIRE(wait_for(source, [&] { return source.stalled(); }));
  bench.app.restart(sim::LiveRestart::as_in_case);
  REQUIRE(wait_for(source, [&] { return !source.stalled() && source.last_time() > 1.0; }));
  CHECK(source.value(speed, source.end_row() - 1) > 80.0);
}

TEST_CASE(
    "live bench: with both bikes under control, each jet steps from its own size, and undo gives both back",
    "[viz][live]") {
  Bench bench({bike, std::string(GLASSBOWL_CASES) + "/runs/blip_piston.toml"});
  const auto jets = [&] {
    bench.wait();
    return std::pair{bench.left->geometry().main_jet.bore, bench.right->geometry().main_jet.bore};
  };
  const auto first = jets();
  REQUIRE(std::abs(first.second - first.first) > 0.3e-3);
  bench.app.step_part(part_changes().front(), 1);
  CHECK(jets().first == Approx(first.first + 0.05e-3));
  CHECK(jets().second == Approx(first.second + 0.05e-3));
  bench.app.step_part(part_changes().front(), 1);
  CHECK(jets().second == Approx(first.second + 0.10e-3));
  bench.app.hand = 1;
  bench.app.set_part("manifold.leak_area", "\"10 mm2\"");
  bench.wait();
  CHECK(bench.left->changed_keys() == 1);
  CHECK(bench.right->changed_keys() == 2);
  bench.app.undo_change();
  bench.wait();
  CHECK(bench.right->changed_keys() == 1);
  bench.app.undo_change();
  CHECK(jets().second == Approx(first.second + 0.05e-3));
  bench.app.undo_change();
  CHECK(jets() == first);
  CHECK(bench.right->changed_keys() == 0);
  bench.app.undo_change();
  CHECK(bench.app.message == "Nothing to undo.");
  bench.app.redo_change();
  CHECK(jets().first == Approx(first.first + 0.05e-3));
}

TEST_CASE("live bench: undo gives back the control that was moved and no other", "[viz][live]") {
  Bench bench({bike});
  bench.wait();
  bench.app.adjust("throttle", [](sim::LiveControls& c) { c.throttle = 0.1; });
  bench.app.adjust("throttle", [](sim::LiveControls& c) { c.throttle = 0.2; });  // one movement
  bench.app.adjust("altitude", [](sim::LiveControls& c) { c.altitude = 900.0; });
  bench.wait();
  CHECK(bench.app.settings[0].controls.altitude == Approx(900.0));
  bench.app.undo_change();
  bench.wait();
  CHECK(bench.app.settings[0].controls.altitude == Approx(0.0).margin(1e-9));
  CHECK(bench.app.settings[0].controls.throttle == Approx(0.2));
  bench.app.undo_change();
  bench.wait();
  CHECK(bench.app.settings[0].controls.throttle == Approx(0.0).margin(1e-9));
}

TEST_CASE("live bench: Ctrl+S leaves the throttle alone, S closes it", "[viz][live][keyboard]") {
  Bench bench({bike});
  bench.wait();
  bench.app.adjust("throttle", [](sim::LiveControls& c) { c.throttle = 0.5; });
  const auto press = [&](bool control) {
    return run_command(bench.app, sf::Keyboard::S,
                       modifier_of({sf::Keyboard::S, false, control, false, false}));
  };
  CHECK_FALSE(press(true));
  CHECK(bench.app.settings[0].controls.throttle == 0.5);
  CHECK(press(false));
  CHECK(bench.app.settings[0].controls.throttle == Approx(0.45));
}

TEST_CASE("live bench: while a part differs from the case, the picture says so", "[viz][live]") {
  Bench bench({bike});
  bench.wait();
  const auto marked = [&] {
    const sf::Image image = picture([&](Canvas& canvas) {
      bench.view.draw(canvas, {1280, 720}, {0, 0, 1280, 720});
    });
    int count = 0;
    for (unsigned y = 0; y < 22; ++y)
      for (unsigned x = 0; x < 640; ++x)
        count += distance(image.getPixel(x, y), bench.view.theme().danger) < 30 ? 1 : 0;
    return count;
  };
  CHECK(marked() == 0);
  bench.app.set_part("carburetor.main.jet.blocked", "\"50 %\"");
  bench.wait();
  CHECK(marked() > 40);
  bench.app.undo_change();
  bench.wait();
  CHECK(marked() == 0);
}

TEST_CASE("live bench: recording never replaces a file", "[viz][live][anomaly]") {
  const auto file = RunFiles::folder() / "kept.h5";
  std::ofstream(file) << "mine";
  LiveSource source(bike, held, paused());
  source.bench().record(file);
  std::vector<std::string> messages;
  REQUIRE(wait_for(source, [&] {
    for (auto& m : source.take_messages()) messages.push_back(m);
    return !messages.empty();
  }));
  CHECK(messages[0].find("kept.h5") != std::string::npos);
  CHECK_FALSE(source.recording());
  CHECK(std::filesystem::file_size(file) == 4);
}

TEST_CASE("live bench: a recording whose name is taken meanwhile ends with one message and keeps its rows",
          "[viz][live][anomaly]") {
  const auto file = RunFiles::folder() / "taken.h5";
  const auto clock = paused();
  LiveSource source(bike, held, clock);
  source.bench().record(file);
  clock->set_paused(false);
  REQUIRE(wait_for(source, [&] { return source.recording() && source.last_time() > 0.1; }));
  std::ofstream(file) << "mine";
  source.bench().stop_recording();
  std::vector<std::string> messages;
  REQUIRE(wait_for(source, [&] {
    for (auto& m : source.take_messages()) messages.push_back(m);
    return !messages.empty() && !source.recording();
  }));
  const double ended = source.last_time();
  REQUIRE(wait_for(source, [&] {  // the bike runs on
    for (auto& m : source.take_messages()) messages.push_back(m);
    return source.last_time() > ended + 0.05;
  }));
  CHECK_FALSE(source.recording());
  CHECK(messages.size() == 1);
  CHECK(messages[0].find("taken.h5.partial") != std::string::npos);
  CHECK(std::filesystem::file_size(file) == 4);
  CHECK(sim::TraceReader(file.string() + ".partial").rows() > 50);
}

}  // namespace glassbowl::viz
