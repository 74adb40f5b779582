#pragma once
#include <functional>
#include <memory>
#include <optional>
#include <vector>

#include "sim/lanes/lane_group.hpp"
#include "sim/studies/point_runner.hpp"

namespace glassbowl::sim {

/// One thread's share of a study: keeps the lanes of a group filled with points until there are no more. A
/// point that ends makes room for the next; neighbours do not wait for one another.
class PointWorker {
 public:
  /// `take` hands out the number of a task, nothing when there is none left; `done` receives its result.
  PointWorker(const std::vector<PointTask>& tasks, std::function<std::optional<std::size_t>()> take,
              std::function<void(std::size_t, std::vector<double>)> done);

  /// Does one piece of work, a cycle or so; false when nothing is left to do. Throws what a task throws.
  bool advance();

 private:
  struct Point {
    std::size_t task;
    std::vector<double> result;
    std::optional<March> march;
  };

  void fill();
  /// Takes the next point: to its first leg if it goes side by side with others. Else it is done on the spot
  /// and nothing is returned.
  std::unique_ptr<Point> open();
  bool fits(const Point& point) const;

  const std::vector<PointTask>& tasks_;
  std::function<std::optional<std::size_t>()> take_;
  std::function<void(std::size_t, std::vector<double>)> done_;
  std::unique_ptr<LaneGroup> group_ = make_lane_group();
  std::vector<std::unique_ptr<Point>> seats_;
  std::unique_ptr<Point> waiting_;  // has other parts than those under way
  bool more_ = true;
};

}  // namespace glassbowl::sim
