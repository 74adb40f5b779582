#pragma once
#include <atomic>
#include <condition_variable>
#include <functional>
#include <memory>
#include <mutex>
#include <optional>
#include <vector>

#include "sim/points/point_result.hpp"
#include "sim/solver/march.hpp"

namespace glassbowl::sim {

struct PointUnderWay {
  std::size_t task;
  PointResult result;
  std::optional<March> march;  // writes to `result`
};

/// What the workers of a study share: tasks not yet begun, and points under way that one hands over to
/// another. Safe to use from several threads.
class PointExchange {
 public:
  /// `tasks` in the order in which they are to begin.
  PointExchange(std::vector<std::size_t> tasks, std::size_t workers);

  /// The number of the next task; nothing when all have begun.
  std::optional<std::size_t> next();
  void donate(std::vector<std::unique_ptr<PointUnderWay>> points);
  /// One of those handed over that fits whoever asks, or null.
  std::unique_ptr<PointUnderWay> steal(const std::function<bool(const PointUnderWay&)>& fits);
  /// Whether a worker waits for more.
  bool wanted() const { return wanted_.load(std::memory_order_relaxed); }

  /// A worker tells, once, that it has found no more tasks; how many had told so before.
  std::size_t note_end() { return ended_.fetch_add(1); }
  /// Whether several have.
  bool ends() const { return ended_.load(std::memory_order_relaxed) > 1; }

  /// There are fewer workers than was said: no more could be had.
  void have_only(std::size_t workers);

  /// Waits until points are handed over; false when no worker has any left, or all have been told to go.
  bool wait();
  void send_home();

 private:
  void note_whether_wanted();
  void end_if_all_wait();

  std::vector<std::size_t> tasks_;
  std::size_t workers_;
  std::atomic<std::size_t> begun_{0};
  std::atomic<std::size_t> ended_{0};
  std::atomic<bool> wanted_{false};
  std::mutex mutex_;
  std::condition_variable changed_;
  std::vector<std::unique_ptr<PointUnderWay>> points_;
  std::size_t waiting_ = 0;
  bool over_ = false;
};

}  // namespace glassbowl::sim
