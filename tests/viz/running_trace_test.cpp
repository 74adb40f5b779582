#include <catch2/catch.hpp>
#include <chrono>
#include <thread>

#include "sim/api/trace.hpp"
#include "sim/trace/trace_writer.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/source/signals.hpp"
#include "viz/source/trace_source.hpp"

namespace glassbowl::viz {
namespace {

constexpr std::size_t most_per_block = 8192;  // rows that may wait before they reach the disk

/// A trace with few channels, one of them unknown to this program, and a case with an unknown key.
sim::TraceWriter write_strange_trace(const std::filesystem::path& file) {
  sim::TracePlan plan;
  plan.time_channels = {{"crank_angle", "rad", "crank angle", "crank", true},
                        {"bowl_level", "m", "fuel level", "bowl", false},
                        {"ghost_of_tomorrow", "1", "what a later version knows", "future", false}};
  plan.expected_rows = 100000;
  const sim::TraceReader known(RunFiles::fixed_venturi());
  return sim::TraceWriter(file, true,
                          {"Strange", "99.0", known.case_resolved() + "\n[later]\nkey = \"1 mm\"\n"}, plan);
}

}  // namespace

TEST_CASE("trace source: a trace of a later version opens with all of its channels", "[viz][source]") {
  const auto file = RunFiles::folder() / "strange.h5";
  auto writer = write_strange_trace(file);
  for (int i = 0; i < 50; ++i) writer.time_row(i * 1e-3, std::array{0.1 * i, -0.002, 7.0});
  writer.finish("complete", {});
  TraceSource source(file);
  CHECK(source.value(source.find("ghost_of_tomorrow"), 3) == 7.0);
  CHECK(source.geometry().bore == Approx(0.036));
  // What the trace lacks is no value, not a wrong one.
  const Signals signals(source);
  CHECK(std::isnan(Instant(source, 0.01)[signals.piston_lift]));
  CHECK(Instant(source, 0.01)[signals.bowl_level] == Approx(-0.002));
}

TEST_CASE("trace source: a run that still goes on is followed to its end", "[viz][source]") {
  const auto file = RunFiles::folder() / "growing.h5";
  auto writer = write_strange_trace(file);
  std::size_t row = 0;
  const auto write_until = [&](std::size_t end) {
    for (; row < end; ++row)
      writer.time_row(
          static_cast<double>(row) * 1e-4,
          std::array{0.01 * static_cast<double>(row), -0.001 - 1e-9 * static_cast<double>(row), 0.0});
    writer.flush();
  };
  write_until(most_per_block / 2);
  TraceSource source(file);  // it has only its unfinished name so far
  CHECK(source.running());
  CHECK(source.end_row() == most_per_block / 2);
  const double before = source.last_time();
  write_until(3 * most_per_block);
  std::this_thread::sleep_for(std::chrono::milliseconds(300));
  source.refresh();
  CHECK(source.end_row() == 3 * most_per_block);
  CHECK(source.last_time() > before);
  const std::size_t last = source.end_row() - 1;
  CHECK(source.value(source.find("crank_angle"), last) == Approx(0.01 * static_cast<double>(last)));
  writer.finish("stopped early: interrupted", {});
  std::this_thread::sleep_for(std::chrono::milliseconds(300));
  source.refresh();
  CHECK_FALSE(source.running());
  CHECK(source.status() == "stopped early: interrupted");
}

}  // namespace glassbowl::viz
