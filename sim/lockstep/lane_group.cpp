#include "sim/lockstep/lane_group.hpp"

#include <algorithm>
#include <iterator>
#include <stdexcept>
#include <string_view>

#include "sim/lanes/instruction_set.hpp"
#include "sim/lockstep/lane_kernel.hpp"

namespace glassbowl::sim {
namespace {

using Make = std::unique_ptr<LaneGroup> (*)();

struct Kernel {
  std::string_view name;
  /// As many lanes as a register holds values: of rates in double precision, and of single ones.
  std::size_t lanes, single_lanes;
  Make make, make_single;
};

/// Narrowest first.
constexpr Kernel kernels[] = {
    {"scalar", 1, 1, [] { return lane_group_of_one(false); }, [] { return lane_group_of_one(true); }},
#if GLASSBOWL_WIDEST > 0
    {"sse2", 2, 4, lane_group_sse2, lane_group_sse2_single},
#endif
#if GLASSBOWL_WIDEST > 1
    {"avx2", 4, 8, lane_group_avx2, lane_group_avx2_single},
#endif
#if GLASSBOWL_WIDEST > 2
    {"avx512", 8, 16, lane_group_avx512, lane_group_avx512_single},
#endif
};

const Kernel& kernel_named(const std::string& name) {
  check_instruction_set(name);
  return *std::find_if(std::begin(kernels), std::end(kernels),
                       [&](const Kernel& k) { return k.name == name; });
}

std::unique_ptr<LaneGroup> make(const Kernel& kernel, bool single_rates) {
  return single_rates ? kernel.make_single() : kernel.make();
}

}  // namespace

void check_seat(const LaneGroup& group, std::size_t lane, const Leg& leg) {
  if (!group.empty(lane)) throw std::invalid_argument("the lane is taken");
  const auto& steps = leg.simulation->step_options();
  if (steps.method != Method::fixed_step || leg.simulation->discrete().ideal_lambda > 0.0)
    throw std::invalid_argument("only fixed steps and mixtures from the carburetor go side by side");
  if (steps.single_rates != group.single_rates())
    throw std::invalid_argument("the group's rates are of another precision");
}

bool same_parts(const Bike<double>& a, const Bike<double>& b) {
  const auto& x = a.carburetor;
  const auto& y = b.carburetor;
  return StateMap::parts_of(a) == StateMap::parts_of(b) && a.load.kind == b.load.kind && x.kind == y.kind &&
         x.choke.fitted == y.choke.fitted && x.bowl.vented_to_airbox == y.bowl.vented_to_airbox &&
         x.slow_source == y.slow_source && x.main.tube.rows.size() == y.main.tube.rows.size();
}

std::unique_ptr<LaneGroup> make_lane_group(const std::string& instruction_set, bool single_rates) {
  return make(kernel_named(instruction_set.empty() ? chosen_instruction_set() : instruction_set),
              single_rates);
}

std::unique_ptr<LaneGroup> make_lane_group_for(std::size_t simulations, bool single_rates) {
  const auto lanes = [&](const Kernel& kernel) { return single_rates ? kernel.single_lanes : kernel.lanes; };
  const auto& widest = kernel_named(chosen_instruction_set());
  for (const auto* kernel = kernels; kernel < &widest; ++kernel)
    if (lanes(*kernel) >= simulations) return make(*kernel, single_rates);
  return make(widest, single_rates);
}

}  // namespace glassbowl::sim
