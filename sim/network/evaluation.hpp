#pragma once
#include "sim/network/network.hpp"

namespace glassbowl::sim {

/// Rates of a network (see `Network::rates`), compiled for one instruction set: values of one bike side by
/// side.
using Evaluation = void (*)(const Network<double>& network, double t, const double* x,
                            const DiscreteState<double>& discrete, double* dx, Scratch<double>& scratch,
                            Outputs<double>* out);
/// By the chosen instruction set. Throws as `chosen_instruction_set` does.
Evaluation chosen_evaluation();

}  // namespace glassbowl::sim
