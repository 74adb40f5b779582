#include <type_traits>

#include "sim/lanes/instruction_set.hpp"
#include "sim/network/evaluation.hpp"

namespace glassbowl::sim {

// Made of evaluation.cpp, as far as they are compiled.
std::remove_pointer_t<Evaluation> evaluate_scalar, evaluate_sse2, evaluate_avx2, evaluate_avx512;

Evaluation chosen_evaluation() {
  [[maybe_unused]] const std::string chosen = chosen_instruction_set();
#if GLASSBOWL_WIDEST > 2
  if (chosen == "avx512") return evaluate_avx512;
#endif
#if GLASSBOWL_WIDEST > 1
  if (chosen == "avx2") return evaluate_avx2;
#endif
#if GLASSBOWL_WIDEST > 0
  if (chosen == "sse2") return evaluate_sse2;
#endif
  return evaluate_scalar;
}

}  // namespace glassbowl::sim
