#pragma once
#include <string>

namespace glassbowl::sim {

/// How well a value is known: half of its 95 % range. Zero width: taken as exact.
struct Spread {
  double half_width = 0.0;  ///< [SI unit of the value], or a fraction of the value where `relative`
  bool relative = false;
  std::string
      reason;  ///< of this width, in words: "a drilled jet", "given", "estimated from the displacement"
};

}  // namespace glassbowl::sim
