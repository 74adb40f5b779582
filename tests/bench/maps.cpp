#include "sim/cases/find_case.hpp"
#include "sim/studies/steady_map.hpp"
#include "tests/bench/figures.hpp"

namespace glassbowl::bench {

using namespace sim;

void maps(Figures& out) {
  // One after the other, as a user has them computed: each has its own last points, which leave lanes idle.
  std::vector<std::vector<PointTask>> both;
  double points = 0.0;
  for (const char* bike : {"bikes/mule_750", "bikes/courier_650"}) {
    const auto resolved =
        read_case(find_case(bike), {"load.kind=held_speed", "load.speed=3000 rpm", "run.duration=1 s"});
    both.push_back(map_tasks(resolved.text, {}, grid_of(resolved, {}).places(), {}));
    points += static_cast<double>(both.back().size());
  }
  const auto with = [&](unsigned threads) {
    return [&both, threads] {
      for (const auto& tasks : both) PointScheduler(nullptr, threads).run(tasks);
    };
  };
  const auto times = interleaved(5, wall_time, {with(1), with(2)});
  out.push_back({"two threads against one", times[0] / times[1], 1.9});
  out.push_back({"points of the default map per second, two threads", points / times[1], 80});
}

}  // namespace glassbowl::bench
