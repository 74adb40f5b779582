#include "sim/studies/drawn_bikes.hpp"

#include <numbers>

#include "sim/cases/find_case.hpp"
#include "tests/bench/figures.hpp"

namespace glassbowl::bench {

using namespace sim;

/// What a study with uncertain sizes costs: 64 bikes drawn from their spreads at 40 operating points.
void drawn_bikes(Figures& out) {
  const auto resolved = read_case(find_case("bikes/mule_750"),
                                  {"load.kind=held_speed", "load.speed=3000 rpm", "run.duration=1 s"});
  std::vector<Place> places;
  for (const double rpm : {1500.0, 2500.0, 3500.0, 4500.0, 5500.0})
    for (const double opening : {0.02, 0.05, 0.1, 0.2, 0.3, 0.5, 0.75, 1.0})
      places.push_back({rpm * std::numbers::pi / 30.0, opening, 0.0, 0.0});
  double points = 0.0;
  const auto times = interleaved(1, wall_time, {[&] {
                                   // Reading 64 cases counts as well.
                                   const DrawnBikes bikes(resolved, usual_bikes);
                                   const auto tasks = bikes.tasks(places, {});
                                   points = static_cast<double>(tasks.size());
                                   PointScheduler(nullptr, 2).run(tasks);
                                 }});
  out.push_back({"points of 64 drawn bikes per second, two threads", points / times[0], 64});
}

}  // namespace glassbowl::bench
