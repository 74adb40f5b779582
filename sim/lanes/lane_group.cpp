#include "sim/lanes/lane_group.hpp"

#include <fmt/format.h>

#include <array>
#include <cstdlib>
#include <stdexcept>
#include <string_view>

#include "sim/api/error.hpp"
#include "sim/lanes/kernel.hpp"

namespace glassbowl::sim {
namespace {

using Make = std::unique_ptr<LaneGroup> (*)();

struct Kernel {
  std::string_view name;
  bool present;
  /// As many lanes as a register holds values: of rates in double precision, and of single ones.
  std::size_t lanes, single_lanes;
  Make make, make_single;
};

/// Narrowest first. The levels x86-64-v3 and -v4 are those that the kernels are compiled for.
std::array<Kernel, 4> kernels() {
  __builtin_cpu_init();
  return {{{"scalar", true, 1, 1, [] { return lane_group_of_one(false); },
            [] { return lane_group_of_one(true); }},
           {"sse2", true, 2, 4, lane_group_sse2, lane_group_sse2_single},
           {"avx2", __builtin_cpu_supports("x86-64-v3") != 0, 4, 8, lane_group_avx2, lane_group_avx2_single},
           {"avx512", __builtin_cpu_supports("x86-64-v4") != 0, 8, 16, lane_group_avx512,
            lane_group_avx512_single}}};
}

std::string default_instruction_set() {
  const char* asked = std::getenv("GLASSBOWL_INSTRUCTIONS");
  return asked != nullptr && *asked != '\0' ? asked : widest_instruction_set();
}

/// Throws Error (input) if there is none of that name on this processor.
Kernel kernel_named(const std::string& name) {
  for (const auto& kernel : kernels())
    if (kernel.name == name) {
      if (kernel.present) return kernel;
      throw Error(ErrorKind::input, fmt::format("this processor does not have \"{}\"; it has \"{}\"", name,
                                                widest_instruction_set()));
    }
  throw Error(ErrorKind::input,
              fmt::format("GLASSBOWL_INSTRUCTIONS is \"{}\": scalar, sse2, avx2 or avx512 would do", name));
}

std::unique_ptr<LaneGroup> make(const Kernel& kernel, bool single_rates) {
  return single_rates ? kernel.make_single() : kernel.make();
}

}  // namespace

void check_seat(const LaneGroup& group, std::size_t lane, const Leg& leg) {
  if (!group.empty(lane)) throw std::invalid_argument("the lane is taken");
  const auto& steps = leg.simulation->step_options();
  if (steps.method != Method::fixed_step || leg.simulation->held().ideal_lambda > 0.0)
    throw std::invalid_argument("only fixed steps and mixtures from the carburetor go side by side");
  if (steps.single_rates != group.single_rates())
    throw std::invalid_argument("the group's rates are of another precision");
}

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

std::unique_ptr<LaneGroup> make_lane_group(const std::string& instruction_set, bool single_rates) {
  return make(kernel_named(instruction_set.empty() ? default_instruction_set() : instruction_set),
              single_rates);
}

std::unique_ptr<LaneGroup> make_lane_group_for(std::size_t simulations, bool single_rates) {
  const auto lanes = [&](const Kernel& kernel) { return single_rates ? kernel.single_lanes : kernel.lanes; };
  const auto widest = kernel_named(default_instruction_set());
  for (const auto& kernel : kernels())
    if (kernel.present && lanes(kernel) >= simulations && lanes(kernel) < lanes(widest))
      return make(kernel, single_rates);
  return make(widest, single_rates);
}

}  // namespace glassbowl::sim
