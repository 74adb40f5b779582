#pragma once
#include <string>
#include <vector>

/// Instruction sets of the processor, and which of them is used. All give the same bits.
namespace glassbowl::sim {

/// "scalar" (one value after the other), "sse2", "avx2", "avx512" as far as this processor has them and this
/// program was compiled for them, narrowest first.
std::vector<std::string> instruction_sets();
/// The widest, or what the environment variable GLASSBOWL_INSTRUCTIONS asks for. Throws Error (input) for one
/// that is unknown or that the processor lacks.
std::string chosen_instruction_set();
/// Throws Error (input) unless it is one of `instruction_sets`.
void check_instruction_set(const std::string& name);

}  // namespace glassbowl::sim
