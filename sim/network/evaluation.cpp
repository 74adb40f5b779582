#include "sim/network/network_rates.hpp"

/// Rates of one bike by one instruction set: this file is compiled once for each, see CMakeLists.txt.
namespace glassbowl::sim {

void GLASSBOWL_ENTRY(const Network<double>& network, double t, const double* x, const Held<double>& held,
                     double* dx, Snapshot<double>& s) {
  network.evaluate(t, x, held, dx, s);
}

}  // namespace glassbowl::sim
