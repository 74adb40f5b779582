#pragma once
#include <atomic>
#include <condition_variable>
#include <memory>
#include <mutex>
#include <optional>
#include <vector>

#include "sim/solver/march.hpp"

namespace glassbowl::sim {

struct PointUnderWay {
  std::size_t task;
  std::vector<double> result;
  std::optional<March> march;  // writes to `result`
};

/// What the workers of a study share: tasks not yet begun, and points under way that one with several left
/// hands over to one that has none. Safe to use from several threads.
class PointQueue {
 public:
  /// `tasks` in the order in which they are to begin.
  PointQueue(std::vector<std::size_t> tasks, std::size_t workers);

  /// The number of the next task; nothing when all have begun.
  std::optional<std::size_t> next();
  void hand_over(std::vector<std::unique_ptr<PointUnderWay>> points);
  /// A point that was handed over, or null.
  std::unique_ptr<PointUnderWay> take_over();
  /// Whether a worker waits for more.
  bool wanted() const { return wanted_.load(std::memory_order_relaxed); }

  /// Waits until points are handed over; false when no worker has any left, or all have been told to go.
  bool wait();
  void send_home();

 private:
  void note_whether_wanted();

  std::vector<std::size_t> tasks_;
  std::size_t workers_;
  std::atomic<std::size_t> begun_{0};
  std::atomic<bool> wanted_{false};
  std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<std::unique_ptr<PointUnderWay>> points_;
  std::size_t waiting_ = 0;
  bool over_ = false;
};

}  // namespace glassbowl::sim
