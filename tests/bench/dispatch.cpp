#include "sim/lockstep/lane_group.hpp"
#include "tests/bench/figures.hpp"
#include "tests/bench/points.hpp"

namespace glassbowl::sim {
std::unique_ptr<LaneGroup> lane_group_native();  // made for the machine that the bench was built on
}

namespace glassbowl::bench {

void dispatch(Figures& out) {
  points();
  const auto times = interleaved(7, processor_time,
                                 {[] { all_side_by_side([] { return sim::make_lane_group(); }); },
                                  [] { all_side_by_side([] { return sim::lane_group_native(); }); }});
  out.push_back({"portable kernel, chosen at start, against a native build", times[1] / times[0], 0.95});
}

}  // namespace glassbowl::bench
