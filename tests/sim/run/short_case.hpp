#pragma once
#include <string>
#include <vector>

#include "sim/bike/resolved_case.hpp"

namespace glassbowl::sim {

/// A quarter of a second of the shipped 750 at 3,000 1/min and a third of throttle; `sets` change it.
inline ResolvedCase short_case(const std::vector<std::string>& sets = {}) {
  return read_case_text(R"(
title = "Short test run"
base = "bikes/mule_750.toml"
[load]
kind = "held_speed"
speed = "3000 1/min"
[rider]
throttle = "30 %"
[run]
settle = "0.05 s"
duration = "0.25 s"
)",
                        "short", sets);
}

/// The same engine in neutral, let go at 1,500 1/min when the throttle is opened after 0.1 s.
inline ResolvedCase opening_case(const std::vector<std::string>& sets = {}) {
  std::vector<std::string> all{
      "load.kind=neutral",   "load.speed=1500 1/min",
      "load.released=0.1 s", "rider.throttle=[[\"0.1 s\", \"8 %\"], [\"0.15 s\", \"60 %\"]]",
      "run.settle=0.3 s",    "run.duration=0.5 s"};
  all.insert(all.end(), sets.begin(), sets.end());
  return short_case(all);
}

}  // namespace glassbowl::sim
