#include <fmt/format.h>

#include <string>

#include "tests/bench/figures.hpp"
#include "tests/bench/points.hpp"

namespace glassbowl::bench {

void lanes(Figures& out) {
  points();
  struct Row {
    const char *instructions, *name;
    bool single_rates;
  };
  const auto widest = sim::widest_instruction_set();
  bool reached = false;
  for (const Row& row : {Row{"sse2", "lanes (sse2) against one by one, per core", false},
                         {"sse2", "lanes (sse2), rates in single precision, against one by one", true},
                         {"avx2", "lanes (avx2) against one by one, per core", false},
                         {"avx2", "lanes (avx2), rates in single precision, against one by one", true},
                         {"avx512", "lanes (avx512) against one by one, per core", false},
                         {"avx512", "lanes (avx512), rates in single precision, against one by one", true}}) {
    if (reached && row.instructions != widest) break;  // what follows, this processor does not have
    reached = row.instructions == widest;
    const auto make = [&] { return sim::make_lane_group(row.instructions, row.single_rates); };
    const auto times = interleaved(3, processor_time, {all_alone, [&] { all_side_by_side(make); }});
    out.push_back({row.name, times[0] / times[1], reached ? 6.0 : 1.0});
  }
}

}  // namespace glassbowl::bench
