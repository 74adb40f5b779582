#pragma once
#include <filesystem>
#include <string>

#include "sim/run/budget.hpp"

namespace glassbowl::hardening {

/// A bike held at one speed and throttle for long, with its trace.
struct LongRun {
  double memory_growth = 0.0;  ///< [B] most resident memory over that at the end of the warm-up
  std::string drifting;        ///< channel of cycle means that drifts most
  double drift = 0.0;          ///< [-] of it, last cycles against the first after the warm-up
  double simulated = 0.0;      ///< [s]
  sim::Budget budget;
};

/// Runs for `seconds` of simulated time, of which the first `warm_up` belong to films and wells.
LongRun run_long(double seconds, double warm_up, const std::filesystem::path& trace);

}  // namespace glassbowl::hardening
