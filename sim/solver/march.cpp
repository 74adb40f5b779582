#include "sim/solver/march.hpp"

namespace glassbowl::sim {

// Not inline: the one object in it must not be made once for each kernel.
const std::function<void(const Cycle&)>& Leg::listener() const {
  static const std::function<void(const Cycle&)> nobody;
  return on_cycle != nullptr ? *on_cycle : nobody;
}

}  // namespace glassbowl::sim
