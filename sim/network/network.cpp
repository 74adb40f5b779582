#include "sim/network/right_hand_side.hpp"

namespace glassbowl::sim {

template class Network<double>;

}  // namespace glassbowl::sim
