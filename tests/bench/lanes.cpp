#include <fmt/format.h>

#include "tests/bench/figures.hpp"
#include "tests/bench/points.hpp"

namespace glassbowl::bench {

void lanes(Figures& out) {
  points();
  for (const auto& [instructions, row] : {std::pair{"sse2", "lanes (sse2) against one by one, per core"},
                                          {"avx2", "lanes (avx2) against one by one, per core"},
                                          {"avx512", "lanes (avx512) against one by one, per core"}}) {
    const auto make = [&] { return sim::make_lane_group(instructions); };
    const auto times = interleaved(3, processor_time, {all_alone, [&] { all_side_by_side(make); }});
    const bool widest = instructions == sim::widest_instruction_set();
    out.push_back({row, times[0] / times[1], widest ? 6.0 : 1.0});
    if (widest) break;
  }
}

}  // namespace glassbowl::bench
