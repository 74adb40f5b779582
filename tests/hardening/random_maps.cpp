#include <fmt/format.h>

#include <algorithm>
#include <cstdio>
#include <cstdlib>

#include "tests/hardening/random_map.hpp"

// random_maps [COUNT [FIRST_SEED [MOST_CYCLES]]]: computes a small map of that many random legal bikes,
// prints figures; exit code 1 if one ends early.
int main(int argc, char** argv) {
  using namespace glassbowl::hardening;
  const std::uint64_t count = argc > 1 ? std::strtoull(argv[1], nullptr, 10) : 40;
  const std::uint64_t first = argc > 2 ? std::strtoull(argv[2], nullptr, 10) : 1;
  const int most_cycles = argc > 3 ? std::atoi(argv[3]) : 300;
  long early = 0, points = 0, failed = 0, with_failures = 0;
  double slowest = 0.0;
  std::uint64_t tried = 0, left_out = 0;
  for (std::uint64_t seed = first; tried < count; ++seed) {
    const MapVerdict verdict = try_map(seed, most_cycles);
    if (verdict.too_slow) {
      ++left_out;
      continue;
    }
    ++tried;
    if (tried % 10 == 0) fmt::print("{} tried, up to seed {}\n", tried, seed);
    points += verdict.points;
    failed += verdict.failed;
    slowest = std::max(slowest, verdict.wall);
    if (verdict.failed > 0) ++with_failures;
    if (verdict.ended_early) ++early;
    if (verdict.ended_early || verdict.failed > 0)
      fmt::print("seed {}: {}{} of {} points not computed, {:.1f} s; {}\n", seed,
                 verdict.ended_early ? fmt::format("ENDED EARLY: {}; ", verdict.words) : "", verdict.failed,
                 verdict.points, verdict.wall, verdict.first_why);
    std::fflush(stdout);
  }
  fmt::print(
      "{} maps of random bikes: {} ended early; {} of {} points in {} maps not computed; slowest {:.1f} s; "
      "{} "
      "bikes left out as too slow\n",
      count, early, failed, points, with_failures, slowest, left_out);
  return early == 0 ? 0 : 1;
}
