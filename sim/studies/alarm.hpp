#pragma once
#include <atomic>
#include <chrono>
#include <condition_variable>
#include <mutex>
#include <thread>

namespace glassbowl::sim {

/// Stops a computation after a while.
class Alarm {
 public:
  explicit Alarm(double seconds)
      : thread_([this, seconds] {
          std::unique_lock lock(mutex_);
          if (!over_.wait_for(lock, std::chrono::duration<double>(seconds), [this] { return done_; }))
            stop_.store(true);
        }) {}
  ~Alarm() {
    {
      const std::lock_guard lock(mutex_);
      done_ = true;
    }
    over_.notify_all();
    thread_.join();
  }
  Alarm(const Alarm&) = delete;
  Alarm& operator=(const Alarm&) = delete;
  const std::atomic<bool>& stop() const { return stop_; }

 private:
  std::atomic<bool> stop_{false};
  std::mutex mutex_;
  std::condition_variable over_;
  bool done_ = false;
  std::thread thread_;
};

}  // namespace glassbowl::sim
