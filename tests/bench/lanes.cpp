#include <algorithm>
#include <cstdlib>

#include "sim/lanes/instruction_set.hpp"
#include "sim/lockstep/lane_group.hpp"
#include "tests/bench/figures.hpp"
#include "tests/bench/points.hpp"

/// Lanes, and one bike's own parallel parts, against the scalar solver: one bike after the other, and in it
/// one value after the other. Against single runs as they go by default, with a bike's volumes side by side,
/// the widest lanes gain less, as both use the same registers: the last row.
namespace glassbowl::bench {

namespace {

double ratio(const Work& slow, const Work& fast) {
  const auto times = interleaved(3, processor_time, {slow, fast});
  return times[0] / times[1];
}

/// Work by instructions of a set, as a user may ask for them.
Work by(const char* instructions, const Work& work) {
  return [=] {
    ::setenv("GLASSBOWL_INSTRUCTIONS", instructions, 1);
    work();
    ::unsetenv("GLASSBOWL_INSTRUCTIONS");
  };
}

}  // namespace

void lanes(Figures& out) {
  points();
  const auto present = sim::instruction_sets();
  out.push_back({"volumes of a bike side by side, against one value at a time",
                 ratio(by("scalar", all_alone), all_alone), 1.0});
  struct Row {
    const char *instructions, *name;
    bool single_rates;
  };
  for (const Row& row :
       {Row{"sse2", "lanes (sse2) against the scalar solver, per core", false},
        {"sse2", "lanes (sse2), rates in single precision, against the scalar solver", true},
        {"avx2", "lanes (avx2) against the scalar solver, per core", false},
        {"avx2", "lanes (avx2), rates in single precision, against the scalar solver", true},
        {"avx512", "lanes (avx512) against the scalar solver, per core", false},
        {"avx512", "lanes (avx512), rates in single precision, against the scalar solver", true}}) {
    if (std::find(present.begin(), present.end(), row.instructions) == present.end()) continue;
    const Work side_by_side = [&] {
      all_side_by_side([&] { return sim::make_lane_group(row.instructions, row.single_rates); });
    };
    out.push_back({row.name, ratio(by("scalar", all_alone), side_by_side),
                   row.instructions == present.back() ? 6.0 : 1.0});
  }
  out.push_back({"the widest, in single precision, against single runs by default",
                 ratio(all_alone, [] { all_side_by_side([] { return sim::make_lane_group({}, true); }); }),
                 1.0});
}

}  // namespace glassbowl::bench
