#pragma once
#include <memory>

#include "sim/lanes/lane_group.hpp"

/// What the kernels have in common: one entry each.
namespace glassbowl::sim {

std::unique_ptr<LaneGroup> lane_group_of_one();
std::unique_ptr<LaneGroup> lane_group_sse2();
std::unique_ptr<LaneGroup> lane_group_avx2();
std::unique_ptr<LaneGroup> lane_group_avx512();

}  // namespace glassbowl::sim
