#pragma once
#include <memory>

#include "sim/lockstep/lane_group.hpp"

/// What the kernels have in common: one entry each.
namespace glassbowl::sim {

/// What every group asks of a simulation that is put on a lane; throws std::invalid_argument.
void check_seat(const LaneGroup& group, std::size_t lane, const Leg& leg);

std::unique_ptr<LaneGroup> lane_group_of_one(bool single_rates);
std::unique_ptr<LaneGroup> lane_group_sse2();
std::unique_ptr<LaneGroup> lane_group_avx2();
std::unique_ptr<LaneGroup> lane_group_avx512();
std::unique_ptr<LaneGroup> lane_group_sse2_single();
std::unique_ptr<LaneGroup> lane_group_avx2_single();
std::unique_ptr<LaneGroup> lane_group_avx512_single();

}  // namespace glassbowl::sim
