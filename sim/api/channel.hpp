#pragma once

#include <string>

namespace glassbowl::sim {

/// What a channel is laid out along: crank-resolved rows or cycle-averaged rows.
enum class Dimension { time, cycle };

/// One recorded quantity of a run.
/// Names    lower_snake_case, unique in a trace.
/// Units    `unit` is spelled as UDUNITS does; a pure number has the unit "1".
struct Channel {
  std::string name;
  std::string unit;
  std::string long_name;
  std::string part;   // the part of carburetor or engine it belongs to
  bool wide = false;  // stored as float64 instead of float32
};

}  // namespace glassbowl::sim
