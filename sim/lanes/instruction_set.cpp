#include "sim/lanes/instruction_set.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>
#include <iterator>
#include <type_traits>

#include "sim/api/error.hpp"

namespace glassbowl::sim {

// Made of evaluation.cpp, as far as they are compiled.
std::remove_pointer_t<Evaluation> evaluate_scalar, evaluate_sse2, evaluate_avx2, evaluate_avx512;

namespace {

struct InstructionSet {
  const char* name;
  Evaluation evaluation;
};

/// Compiled ones, narrowest first.
constexpr InstructionSet compiled[] = {
    {"scalar", evaluate_scalar},
#if GLASSBOWL_WIDEST > 0
    {"sse2", evaluate_sse2},
#endif
#if GLASSBOWL_WIDEST > 1
    {"avx2", evaluate_avx2},
#endif
#if GLASSBOWL_WIDEST > 2
    {"avx512", evaluate_avx512},
#endif
};

}  // namespace

std::vector<std::string> instruction_sets() {
  __builtin_cpu_init();
  // The levels x86-64-v3 and -v4 are those that the kernels are compiled for.
  const bool present[] = {true, true, __builtin_cpu_supports("x86-64-v3") != 0,
                          __builtin_cpu_supports("x86-64-v4") != 0};
  std::vector<std::string> out;
  for (std::size_t i = 0; i < std::size(compiled) && present[i]; ++i) out.emplace_back(compiled[i].name);
  return out;
}

void check_instruction_set(const std::string& name) {
  const auto present = instruction_sets();
  if (std::find(present.begin(), present.end(), name) != present.end()) return;
  if (name == "sse2" || name == "avx2" || name == "avx512")
    throw Error(ErrorKind::input, fmt::format("GLASSBOWL_INSTRUCTIONS is \"{}\", which this processor does "
                                              "not have, or this program was built without; there is \"{}\"",
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
  return std::find_if(std::begin(compiled), std::end(compiled),
                      [&](const auto& s) { return s.name == chosen; })
      ->evaluation;
}

}  // namespace glassbowl::sim
