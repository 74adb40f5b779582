#pragma once
#include <string>
#include <vector>

#include "sim/network/network.hpp"

/// Instruction sets of the processor, and what is compiled for each. All give the same bits.
namespace glassbowl::sim {

/// "scalar" (one value after the other), "sse2", "avx2", "avx512" as far as this processor has them,
/// narrowest first.
std::vector<std::string> instruction_sets();
/// The widest, or what the environment variable GLASSBOWL_INSTRUCTIONS asks for. Throws Error (input) for one
/// that is unknown or that the processor lacks.
std::string chosen_instruction_set();
/// Throws Error (input) unless it is one of `instruction_sets`.
void check_instruction_set(const std::string& name);

/// Rates of a network (see `Network::rates`) by the chosen instruction set: values of one bike side by side.
using Evaluation = void (*)(const Network<double>& network, double t, const double* x,
                            const DiscreteState<double>& discrete, double* dx, Scratch<double>& scratch,
                            Outputs<double>* out);
Evaluation chosen_evaluation();

}  // namespace glassbowl::sim
