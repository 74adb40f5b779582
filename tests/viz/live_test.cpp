#include <atomic>
#include <catch2/catch.hpp>
#include <chrono>
#include <thread>

#include "sim/api/live.hpp"
#include "sim/api/trace.hpp"
#include "sim/view/triple_buffer.hpp"
#include "tests/viz/run_files.hpp"
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
const std::string bike = std::string(GLASSBOWL_CASES) + "/runs/warm_idle.toml";

}  // namespace

TEST_CASE("triple buffer: the reader sees whole values, never older ones again", "[viz][live]") {
  sim::TripleBuffer<std::array<int, 64>> buffer;
  std::atomic<bool> stop{false};
  std::thread writer([&] {
    for (int i = 1; !stop; ++i) {
      buffer.back().fill(i);
      buffer.publish();
    }
  });
  int last = 0, fresh = 0;
  bool whole = true, rising = true;
  while (fresh < 20000) {
    if (!buffer.refresh()) continue;
    ++fresh;
    const auto& values = buffer.front();
    for (const int v : values) whole = whole && v == values[0];
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
    LiveSource source(bike, held, going());
    source.bench().record(file);
    REQUIRE(wait_for(source, [&] { return !source.empty() && source.last_time() > 0.1; }));
    source.bench().stop_recording();
    CHECK(wait_for(source, [&] { return !source.take_messages().empty(); }));
  }
  const sim::TraceReader trace(file);
  CHECK(trace.complete());
  CHECK(trace.rows() > 50);
}

}  // namespace glassbowl::viz
