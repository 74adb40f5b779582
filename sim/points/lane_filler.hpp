#pragma once
#include <deque>
#include <functional>
#include <memory>
#include <vector>

#include "sim/points/lane_seats.hpp"
#include "sim/points/point_exchange.hpp"
#include "sim/points/point_scheduler.hpp"

namespace glassbowl::sim {

/// One thread's share of a study: keeps lanes filled with points until there are no more. Most of a point's
/// way goes in single precision, many side by side, its end in double precision. One that ends makes room for
/// the next; neighbours do not wait for one another. In the end, several workers go on with points of one
/// precision each, which keeps their lanes filled longer; the last points move to narrower groups, and half
/// of them to another worker that has none.
class LaneFiller {
 public:
  /// `done` receives the number of a task and its result. No more are begun while `most` are under way.
  LaneFiller(const std::vector<PointTask>& tasks, std::size_t most, PointExchange& queue,
             std::function<void(std::size_t, PointResult)> done);

  /// Does one piece of work, a cycle or so; false when there is nothing to do for now. Throws what a task
  /// throws.
  bool advance();

 private:
  void fill();
  /// Takes those who wait to lanes that fit.
  void seat();
  /// Begins the next task: to its first leg if it goes side by side with others. Else it is done on the spot
  /// and nothing is returned.
  std::unique_ptr<PointUnderWay> begin();
  std::size_t under_way() const { return single_.taken() + double_.taken() + waiting_.size(); }
  void part();
  void narrow();
  void share();

  const std::vector<PointTask>& tasks_;
  std::size_t most_;
  PointExchange& queue_;
  std::function<void(std::size_t, PointResult)> done_;
  LaneSeats single_{true}, double_{false};
  std::deque<std::unique_ptr<PointUnderWay>> waiting_;  // for a lane that fits
  bool more_ = true;
  std::size_t ended_as_ = 0;  // how many workers found no more tasks before this one
};

}  // namespace glassbowl::sim
