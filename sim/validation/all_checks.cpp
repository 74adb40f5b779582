#include <chrono>
#include <iterator>

#include "sim/validation/engine_topics.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {

std::vector<Row> run_all_checks(const std::function<void(double, double)>& progress) {
  using Clock = std::chrono::steady_clock;
  const auto begin = Clock::now();
  std::vector<Row> rows;
  std::size_t done = 0;
  const auto run = [&](Checks checks) {
    checks(rows);
    ++done;
    if (progress)
      progress(static_cast<double>(done) / static_cast<double>(std::size(topics) + std::size(engine_topics)),
               std::chrono::duration<double>(Clock::now() - begin).count());
  };
  for (const Checks checks : topics) run(checks);
  for (const Checks checks : engine_topics) run(checks);
  return rows;
}

}  // namespace glassbowl::validation
