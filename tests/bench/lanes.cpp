#include <fmt/format.h>

#include "tests/bench/figures.hpp"
#include "tests/bench/points.hpp"

namespace glassbowl::bench {

void lanes(Figures& out) {
  const auto all = points();
  for (const std::string instructions : {"sse2", "avx2", "avx512"}) {
    const auto times =
        interleaved(3, processor_time,
                    {[&] { alone(all); },
                     [&] { side_by_side(all, [&] { return sim::make_lane_group(instructions); }); }});
    const bool widest = instructions == sim::widest_instruction_set();
    out.push_back({fmt::format("lanes ({}) against one by one, per core", instructions), times[0] / times[1],
                   widest ? 6.0 : 1.0});
    if (widest) break;
  }
}

}  // namespace glassbowl::bench
