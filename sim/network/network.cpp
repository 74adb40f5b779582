#include "sim/network/network_rates.hpp"

namespace glassbowl::sim {

template class Network<double>;

}  // namespace glassbowl::sim
