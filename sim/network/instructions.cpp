#include "sim/network/instructions.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <type_traits>

#include "sim/api/error.hpp"

namespace glassbowl::sim {

// Made of evaluation.cpp.
std::remove_pointer_t<Evaluation> evaluate_scalar, evaluate_sse2, evaluate_avx2, evaluate_avx512;

std::vector<std::string> instruction_sets() {
  __builtin_cpu_init();
  std::vector<std::string> out{"scalar", "sse2"};
  // The levels x86-64-v3 and -v4 are those that the kernels are compiled for.
  if (__builtin_cpu_supports("x86-64-v3") != 0) out.emplace_back("avx2");
  if (__builtin_cpu_supports("x86-64-v4") != 0) out.emplace_back("avx512");
  return out;
}

void check_instruction_set(const std::string& name) {
  const auto present = instruction_sets();
  if (std::find(present.begin(), present.end(), name) != present.end()) return;
  if (name == "avx2" || name == "avx512")
    throw Error(
        ErrorKind::input,
        fmt::format("GLASSBOWL_INSTRUCTIONS is \"{}\", which this processor does not have; it has \"{}\"",
                    name, present.back()));
  throw Error(ErrorKind::input,
              fmt::format("GLASSBOWL_INSTRUCTIONS is \"{}\": scalar, sse2, avx2 or avx512 would do", name));
}

std::string chosen_instruction_set() {
  const char* asked = std::getenv("GLASSBOWL_INSTRUCTIONS");
  if (asked == nullptr || *asked == '\0') return instruction_sets().back();
  check_instruction_set(asked);
  return asked;
}

Evaluation chosen_evaluation() {
  const std::string chosen = chosen_instruction_set();
  return chosen == "avx512" ? evaluate_avx512
         : chosen == "avx2" ? evaluate_avx2
         : chosen == "sse2" ? evaluate_sse2
                            : evaluate_scalar;
}

}  // namespace glassbowl::sim
