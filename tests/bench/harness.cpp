#include "tests/bench/harness.hpp"

#include <algorithm>
#include <chrono>
#include <cmath>
#include <ctime>

namespace glassbowl::bench {

bool Figure::held() const {
  if (kind == Goal::at_least) return value >= goal;
  if (kind == Goal::at_most) return value <= goal;
  return std::abs(value - goal) <= 0.05;
}

double processor_time(const Work& work) {
  const auto now = [] {
    timespec t{};
    clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &t);
    return static_cast<double>(t.tv_sec) + 1e-9 * static_cast<double>(t.tv_nsec);
  };
  const double begin = now();
  work();
  return now() - begin;
}

double wall_time(const Work& work) {
  const auto begin = std::chrono::steady_clock::now();
  work();
  return std::chrono::duration<double>(std::chrono::steady_clock::now() - begin).count();
}

std::vector<double> interleaved(int repeats, Clock clock, const std::vector<Work>& all) {
  std::vector<std::vector<double>> times(all.size());
  for (int i = 0; i < repeats; ++i)
    for (std::size_t k = 0; k < all.size(); ++k) times[k].push_back(clock(all[k]));
  std::vector<double> out;
  for (auto& one : times) {
    std::sort(one.begin(), one.end());
    out.push_back(one[one.size() / 2]);
  }
  return out;
}

}  // namespace glassbowl::bench
