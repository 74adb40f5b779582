#pragma once
#include <string>

#include "viz/cutaway/hits.hpp"
#include "viz/source/signals.hpp"

namespace glassbowl::viz {

/// What is said about a part that is pointed at.
struct Explanation {
  std::string name;
  std::string size;  ///< from the case
  std::string now;   ///< what it does at this moment, from the run
  std::string duty;  ///< what it is for
};

Explanation explain(PartId id, const Signals& signals, const Instant& now);

}  // namespace glassbowl::viz
