#pragma once
#include <functional>
#include <memory>
#include <vector>

#include "sim/lanes/lane_group.hpp"
#include "sim/studies/point_queue.hpp"
#include "sim/studies/point_runner.hpp"

namespace glassbowl::sim {

/// One thread's share of a study: keeps the lanes of a group filled with points until there are no more. A
/// point that ends makes room for the next; neighbours do not wait for one another. The last ones move to
/// narrower groups, and half of them to another worker that has none.
class PointWorker {
 public:
  /// `done` receives the number of a task and its result. No more than `most` are under way at a time.
  PointWorker(const std::vector<PointTask>& tasks, std::size_t most, PointQueue& queue,
              std::function<void(std::size_t, std::vector<double>)> done);

  /// Does one piece of work, a cycle or so; false when there is nothing to do for now. Throws what a task
  /// throws.
  bool advance();

 private:
  void fill();
  /// Begins the next task: to its first leg if it goes side by side with others. Else it is done on the spot
  /// and nothing is returned.
  std::unique_ptr<PointUnderWay> begin();
  bool fits(const PointUnderWay& point) const;
  std::size_t seated() const;
  /// Moves all who are left to the narrowest group that seats them.
  void narrow();
  void share();

  const std::vector<PointTask>& tasks_;
  std::size_t most_;
  PointQueue& queue_;
  std::function<void(std::size_t, std::vector<double>)> done_;
  std::unique_ptr<LaneGroup> group_;
  std::vector<std::unique_ptr<PointUnderWay>> seats_;
  std::unique_ptr<PointUnderWay> waiting_;  // has other parts than those under way
  bool more_ = true;
};

}  // namespace glassbowl::sim
