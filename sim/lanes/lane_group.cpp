#include "sim/lanes/lane_group.hpp"

#include <fmt/format.h>

#include <array>
#include <cstdlib>
#include <string_view>

#include "sim/api/error.hpp"
#include "sim/lanes/kernel.hpp"

namespace glassbowl::sim {
namespace {

struct Kernel {
  std::string_view name;
  bool present;
  std::unique_ptr<LaneGroup> (*make)();
};

/// Narrowest first. The levels x86-64-v3 and -v4 are those that the kernels are compiled for.
std::array<Kernel, 3> kernels() {
  __builtin_cpu_init();
  return {{{"sse2", true, lane_group_sse2},
           {"avx2", __builtin_cpu_supports("x86-64-v3") != 0, lane_group_avx2},
           {"avx512", __builtin_cpu_supports("x86-64-v4") != 0, lane_group_avx512}}};
}

}  // namespace

bool same_parts(const Bike<double>& a, const Bike<double>& b) {
  const auto& x = a.carburetor;
  const auto& y = b.carburetor;
  return Layout::parts_of(a) == Layout::parts_of(b) && a.load.kind == b.load.kind && x.kind == y.kind &&
         x.choke.fitted == y.choke.fitted && x.bowl.vented_to_airbox == y.bowl.vented_to_airbox &&
         x.slow_source == y.slow_source && x.main.tube.rows.size() == y.main.tube.rows.size();
}

std::string widest_instruction_set() {
  std::string out;
  for (const auto& kernel : kernels())
    if (kernel.present) out = kernel.name;
  return out;
}

std::unique_ptr<LaneGroup> make_lane_group(const std::string& instruction_set) {
  std::string wanted = instruction_set;
  if (wanted.empty())
    if (const char* asked = std::getenv("GLASSBOWL_INSTRUCTIONS")) wanted = asked;
  if (wanted.empty()) wanted = widest_instruction_set();
  for (const auto& kernel : kernels())
    if (kernel.name == wanted) {
      if (kernel.present) return kernel.make();
      throw Error(ErrorKind::input, fmt::format("this processor does not have \"{}\"; it has \"{}\"", wanted,
                                                widest_instruction_set()));
    }
  throw Error(ErrorKind::input,
              fmt::format("GLASSBOWL_INSTRUCTIONS is \"{}\": sse2, avx2 or avx512 would do", wanted));
}

}  // namespace glassbowl::sim
