#include <fmt/format.h>
#include <unistd.h>

#include <filesystem>

#include "sim/cases/find_case.hpp"
#include "sim/run/run_case.hpp"
#include "tests/bench/figures.hpp"

namespace glassbowl::bench {

using namespace sim;

void single_run(Figures& out) {
  const auto resolved = read_case(find_case("blip"));
  const auto folder = std::filesystem::temp_directory_path() / fmt::format("glassbowl-bench-{}", ::getpid());
  std::filesystem::create_directory(folder);
  RunRequest with, without;
  double simulated = 0.0;
  int traces = 0;  // a name each, as to put one in another's place costs the removal of that one
  const auto times = interleaved(15, processor_time,
                                 {[&] {
                                    with.trace = folder / fmt::format("{}.h5", ++traces);
                                    run_case(resolved, with);
                                  },
                                  [&] {
                                    const Summary s = run_case(resolved, without);
                                    simulated = s.settle + s.simulated;
                                  }});
  std::filesystem::remove_all(folder);
  out.push_back(
      {"single run with trace, simulated seconds per second of one core", simulated / times[0], 15});
  out.push_back(
      {"trace writing, share of the run's time", 1.0 - times[1] / times[0], 0.10, Figure::Goal::at_most});
}

}  // namespace glassbowl::bench
