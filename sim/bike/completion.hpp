#pragma once
#include <map>
#include <string>

#include "sim/cases/layers.hpp"

namespace glassbowl::sim {

/// What a search found for a target, by the key that it sets.
struct FoundValue {
  std::string value;  ///< TOML
  std::string words;  ///< "found for idle_speed = 1050 rpm"
};
using FoundValues = std::map<std::string, FoundValue, std::less<>>;

/// Targets that stand in place of sizes, and for which nothing is found yet.
struct OpenTargets {
  double idle_speed = 0.0;  ///< [rad/s] for which the idle stop is to be found; 0: none
  bool best_idle = false;   ///< the mixture screw's turns are to be found
  bool any() const { return idle_speed > 0.0 || best_idle; }
};

/// Lays under the files of a case what follows from them, without replacing anything that is given nearer:
/// sizes measured in another way; sizes found for targets, or a first guess of them; and, where the case asks
/// for `estimate`, estimates of what is missing. Says which targets are open.
OpenTargets complete(Layers& layers, const FoundValues& found);

}  // namespace glassbowl::sim
