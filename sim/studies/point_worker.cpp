#include "sim/studies/point_worker.hpp"

#include <algorithm>
#include <utility>

namespace glassbowl::sim {

PointWorker::PointWorker(const std::vector<PointTask>& tasks,
                         std::function<std::optional<std::size_t>()> take,
                         std::function<void(std::size_t, std::vector<double>)> done)
    : tasks_(tasks), take_(std::move(take)), done_(std::move(done)), seats_(group_->size()) {}

bool PointWorker::advance() {
  fill();
  const auto arrivals = group_->advance();
  for (const auto& arrival : arrivals) {
    auto& point = seats_[arrival.lane];
    if (point->march->next(arrival.failure)) {
      group_->put(arrival.lane, point->march->leg());
    } else {
      done_(point->task, std::move(point->result));
      point.reset();
    }
  }
  return !arrivals.empty() || more_ || waiting_ != nullptr;
}

void PointWorker::fill() {
  for (std::size_t lane = 0; lane < seats_.size(); ++lane) {
    if (seats_[lane] != nullptr) continue;
    if (waiting_ == nullptr) waiting_ = open();
    if (waiting_ == nullptr || !fits(*waiting_)) return;
    group_->put(lane, waiting_->march->leg());
    seats_[lane] = std::move(waiting_);
  }
}

std::unique_ptr<PointWorker::Point> PointWorker::open() {
  const auto next = more_ ? take_() : std::nullopt;
  if (!next) {
    more_ = false;
    return nullptr;
  }
  const auto& task = tasks_[*next];
  if (!task.march) {
    done_(*next, task.compute());
    return nullptr;
  }
  auto point = std::make_unique<Point>(Point{*next, {}, std::nullopt});
  point->march = task.march(point->result);
  if (point->march->next()) {
    // Lanes keep step; an error-controlled run sets its own.
    if (point->march->leg().simulation->step_options().method == Method::fixed_step) return point;
    point->march->go_on_alone();
  }
  done_(*next, std::move(point->result));
  return nullptr;
}

bool PointWorker::fits(const Point& point) const {
  const auto bike = [](const Point& p) -> const Bike<double>& {
    return p.march->leg().simulation->network().bike();
  };
  return std::all_of(seats_.begin(), seats_.end(), [&](const auto& other) {
    return other == nullptr || same_parts(bike(*other), bike(point));
  });
}

}  // namespace glassbowl::sim
