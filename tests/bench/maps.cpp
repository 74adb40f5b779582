#include "sim/run/find_case.hpp"
#include "sim/studies/steady_map.hpp"
#include "tests/bench/figures.hpp"

namespace glassbowl::bench {

using namespace sim;

void maps(Figures& out) {
  std::vector<PointTask> tasks;
  for (const char* bike : {"bikes/mule_750", "bikes/courier_650"}) {
    const auto resolved =
        read_case(find_case(bike), {"load.kind=held_speed", "load.speed=3000 rpm", "run.duration=1 s"});
    for (auto& task : map_tasks(resolved.text, {}, grid_of(resolved, {}).places(), {})) tasks.push_back(task);
  }
  const auto with = [&](unsigned threads) {
    return [&tasks, threads] { PointRunner(nullptr, threads).run(tasks); };
  };
  const auto times = interleaved(3, wall_time, {with(1), with(2)});
  out.push_back({"two threads against one", times[0] / times[1], 1.9});
  out.push_back({"points of the default map per second, two threads",
                 static_cast<double>(tasks.size()) / times[1], 80});
}

}  // namespace glassbowl::bench
