#include "sim/points/point_exchange.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

namespace glassbowl::sim {

PointExchange::PointExchange(std::vector<std::size_t> tasks, std::size_t workers)
    : tasks_(std::move(tasks)), workers_(workers) {}

std::optional<std::size_t> PointExchange::next() {
  const std::size_t mine = begun_.fetch_add(1);
  return mine < tasks_.size() ? std::optional(tasks_[mine]) : std::nullopt;
}

void PointExchange::donate(std::vector<std::unique_ptr<PointUnderWay>> points) {
  const std::lock_guard lock(mutex_);
  std::move(points.begin(), points.end(), std::back_inserter(points_));
  note_whether_wanted();
  changed_.notify_all();  // who wakes first may take but some
}

std::unique_ptr<PointUnderWay> PointExchange::steal(const std::function<bool(const PointUnderWay&)>& fits) {
  const std::lock_guard lock(mutex_);
  const auto found = std::find_if(points_.begin(), points_.end(), [&](const auto& p) { return fits(*p); });
  if (found == points_.end()) return nullptr;
  auto point = std::move(*found);
  points_.erase(found);
  note_whether_wanted();
  return point;
}

bool PointExchange::wait() {
  std::unique_lock lock(mutex_);
  ++waiting_;
  end_if_all_wait();
  note_whether_wanted();
  changed_.wait(lock, [&] { return over_ || !points_.empty(); });
  --waiting_;
  note_whether_wanted();
  return !over_;
}

void PointExchange::have_only(std::size_t workers) {
  const std::lock_guard lock(mutex_);
  workers_ = workers;
  end_if_all_wait();
}

void PointExchange::end_if_all_wait() {
  if (waiting_ == workers_ && points_.empty()) over_ = true;
  if (over_) changed_.notify_all();
}

void PointExchange::note_whether_wanted() {
  wanted_ = waiting_ > 0 && points_.empty();
}

void PointExchange::send_home() {
  const std::lock_guard lock(mutex_);
  over_ = true;
  changed_.notify_all();
}

}  // namespace glassbowl::sim
