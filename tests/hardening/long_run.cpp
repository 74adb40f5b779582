#include "tests/hardening/long_run.hpp"

#include <fmt/format.h>
#include <unistd.h>

#include <algorithm>
#include <cmath>
#include <cstdio>
#include <numeric>
#include <vector>

#include "sim/api/trace.hpp"
#include "sim/run/run_case.hpp"

namespace glassbowl::hardening {
namespace {

/// Cycles in each mean. Where the fixed steps lie against the crank matters at 6e-5 for single channels, and
/// in an hour the crank angle's round-off shifts them. At 3010 1/min 301 cycles are 240,000 steps of 50 us,
/// each cycle with its steps elsewhere, so a mean over them does not depend on where the first one lay.
constexpr long compared = 301;
constexpr const char* speed = "3010 1/min";

constexpr const char* ride = R"(
title = "Long ride on the bench"
base = "bikes/mule_750.toml"
load.kind = "held_speed"
rider.throttle = "30 %"
run.trace_interval = "10 ms"
)";

double resident_bytes() {
  long pages = 0, resident = 0;
  if (std::FILE* file = std::fopen("/proc/self/statm", "r")) {
    if (std::fscanf(file, "%ld %ld", &pages, &resident) != 2) resident = 0;
    std::fclose(file);
  }
  return static_cast<double>(resident * ::sysconf(_SC_PAGESIZE));
}

double mean(const std::vector<double>& values, std::size_t first) {
  const auto begin = values.begin() + static_cast<std::ptrdiff_t>(first);
  return std::accumulate(begin, begin + compared, 0.0) / static_cast<double>(compared);
}

}  // namespace

LongRun run_long(double seconds, double warm_up, const std::filesystem::path& trace) {
  LongRun out;
  double first_memory = 0.0, most_memory = 0.0;
  sim::RunRequest request;
  request.trace = trace;
  request.force = true;
  request.progress = [&](double, double time) {
    if (time < warm_up) return;
    const double now = resident_bytes();
    if (first_memory == 0.0) first_memory = now;
    most_memory = std::max(most_memory, now);
  };
  auto resolved = sim::read_case_text(
      ride, "long_run", {fmt::format("run.duration={} s", seconds), fmt::format("load.speed={}", speed)});
  // A tank wider than a case may have, so that its surface, and with it the float's level, stays where it is:
  // even a tank of 1 m2 makes the mixture leaner by 5e-6 in 90 s.
  resolved.bike.carburetor.feed.tank_area = 1e6;
  resolved.bike.carburetor.feed.fuel_volume = 1.0;
  const sim::Summary summary = sim::run_case(resolved, request);
  out.memory_growth = most_memory - first_memory;
  out.simulated = summary.simulated;
  out.budget = summary.budget;

  const sim::TraceReader reader(trace);
  const std::size_t first =
      static_cast<std::size_t>(warm_up / summary.simulated * static_cast<double>(reader.cycles()));
  for (const sim::Channel& channel : reader.channels(sim::Dimension::cycle)) {
    const auto values = reader.read(channel.name);
    if (values.size() < first + compared) continue;
    const double early = mean(values, first), late = mean(values, values.size() - compared);
    const double scale = std::abs(early);
    if (channel.name == "cycle_start" || !(scale > 0.0)) continue;  // time goes on; some things do not flow
    const double drift = std::abs(late - early) / scale;
    if (drift > out.drift) out.drift = drift, out.drifting = channel.name;
  }
  return out;
}

}  // namespace glassbowl::hardening
