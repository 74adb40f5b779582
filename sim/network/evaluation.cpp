#include "sim/network/right_hand_side.hpp"

/// Rates of one bike by one instruction set: this file is compiled once for each, see CMakeLists.txt.
namespace glassbowl::sim {

void GLASSBOWL_ENTRY(const Network<double>& network, double t, const double* x,
                     const DiscreteState<double>& discrete, double* dx, Scratch<double>& scratch,
                     Outputs<double>* out) {
  network.evaluate(t, x, discrete, dx, scratch, out);
}

}  // namespace glassbowl::sim
