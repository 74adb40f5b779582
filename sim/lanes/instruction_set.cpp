#include "sim/lanes/instruction_set.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cstdlib>

#include "sim/api/error.hpp"

namespace glassbowl::sim {

std::vector<std::string> instruction_sets() {
  __builtin_cpu_init();
  std::vector<std::string> out{"scalar"};
#if GLASSBOWL_WIDEST > 0
  out.emplace_back("sse2");
#endif
#if GLASSBOWL_WIDEST > 1  // the levels that its kernels are compiled for
  if (__builtin_cpu_supports("x86-64-v3") != 0) out.emplace_back("avx2");
#endif
#if GLASSBOWL_WIDEST > 2
  if (__builtin_cpu_supports("x86-64-v4") != 0) out.emplace_back("avx512");
#endif
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

}  // namespace glassbowl::sim
