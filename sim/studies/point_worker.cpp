#include "sim/studies/point_worker.hpp"

#include <algorithm>
#include <utility>

namespace glassbowl::sim {

PointWorker::PointWorker(const std::vector<PointTask>& tasks, std::size_t most, PointQueue& queue,
                         std::function<void(std::size_t, std::vector<double>)> done)
    : tasks_(tasks), most_(most), queue_(queue), done_(std::move(done)) {}

bool PointWorker::advance() {
  fill();
  share();
  narrow();
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

std::size_t PointWorker::seated() const {
  return seats_.size() - static_cast<std::size_t>(std::count(seats_.begin(), seats_.end(), nullptr));
}

void PointWorker::fill() {
  const bool idle = seated() == 0;
  if (idle) {
    group_ = make_lane_group_for(most_);
    seats_ = std::vector<std::unique_ptr<PointUnderWay>>(group_->size());
  }
  for (std::size_t lane = 0; lane < seats_.size(); ++lane) {
    if (seats_[lane] != nullptr) continue;
    if (seated() == most_) return;
    if (waiting_ == nullptr && more_) waiting_ = begin();
    if (waiting_ == nullptr && !more_ && idle) waiting_ = queue_.take_over();
    if (waiting_ == nullptr || !fits(*waiting_)) return;
    group_->put(lane, waiting_->march->leg());
    seats_[lane] = std::move(waiting_);
  }
}

void PointWorker::narrow() {
  const std::size_t left = seated();
  if (more_ || left == 0 || left > seats_.size() / 2) return;
  auto group = make_lane_group_for(left);
  std::vector<std::unique_ptr<PointUnderWay>> seats;
  for (std::size_t lane = 0; lane < seats_.size(); ++lane) {
    if (seats_[lane] == nullptr) continue;
    group->put(seats.size(), group_->remove(lane));
    seats.push_back(std::move(seats_[lane]));
  }
  seats.resize(group->size());
  seats_ = std::move(seats);
  group_ = std::move(group);
}

void PointWorker::share() {
  if (!queue_.wanted()) return;
  std::vector<std::unique_ptr<PointUnderWay>> given;
  if (waiting_ != nullptr) given.push_back(std::move(waiting_));
  const std::size_t keep = (seated() + given.size() + 1) / 2;
  for (std::size_t lane = 0; lane < seats_.size() && seated() > keep; ++lane) {
    if (seats_[lane] == nullptr) continue;
    group_->remove(lane);
    given.push_back(std::move(seats_[lane]));
  }
  queue_.hand_over(std::move(given));
}

std::unique_ptr<PointUnderWay> PointWorker::begin() {
  const auto next = queue_.next();
  if (!next) {
    more_ = false;
    return nullptr;
  }
  const auto& task = tasks_[*next];
  if (!task.march) {
    done_(*next, task.compute());
    return nullptr;
  }
  auto point = std::make_unique<PointUnderWay>(PointUnderWay{*next, {}, std::nullopt});
  point->march = task.march(point->result);
  if (point->march->next()) {
    // Lanes keep step; an error-controlled run sets its own.
    if (point->march->leg().simulation->step_options().method == Method::fixed_step) return point;
    point->march->go_on_alone();
  }
  done_(*next, std::move(point->result));
  return nullptr;
}

bool PointWorker::fits(const PointUnderWay& point) const {
  const auto bike = [](const PointUnderWay& p) -> const Bike<double>& {
    return p.march->leg().simulation->network().bike();
  };
  return std::all_of(seats_.begin(), seats_.end(), [&](const auto& other) {
    return other == nullptr || same_parts(bike(*other), bike(point));
  });
}

}  // namespace glassbowl::sim
