#include "sim/points/lane_filler.hpp"

#include <algorithm>
#include <iterator>
#include <utility>

namespace glassbowl::sim {

LaneFiller::LaneFiller(const std::vector<PointTask>& tasks, std::size_t most, PointExchange& queue,
                       std::function<void(std::size_t, PointResult)> done)
    : tasks_(tasks), most_(most), queue_(queue), done_(std::move(done)) {}

bool LaneFiller::advance() {
  fill();
  part();
  share();
  narrow();
  // Steps of a full group are the cheapest for each point.
  LaneSeats& seats = single_.taken() == 0 || (double_.taken() > 0 && double_.full()) ? double_ : single_;
  if (seats.taken() == 0) return more_ || !waiting_.empty();
  for (auto& [lane, point, failure] : seats.advance()) {
    if (!point->march->next(failure))
      done_(point->task, std::move(point->result));
    else if (seats.fits(*point))
      seats.seat_again(std::move(point), lane);
    else
      waiting_.push_back(std::move(point));
  }
  return true;
}

void LaneFiller::fill() {
  for (auto* seats : {&single_, &double_})
    if (seats->taken() == 0) seats->open(most_);
  seat();
  while (waiting_.empty() && more_ && under_way() < most_ && !(single_.full() && double_.full())) {
    auto point = begin();
    if (point == nullptr) break;  // done already, or there are no more
    waiting_.push_back(std::move(point));
    seat();
  }
}

void LaneFiller::part() {
  if (more_) return;
  LaneSeats& mine = ended_as_ % 2 == 0 ? single_ : double_;
  LaneSeats& others = &mine == &single_ ? double_ : single_;
  if (queue_.ends() && mine.taken() > 0) {
    auto given = others.remove_all_but(0);
    std::move(waiting_.begin(), waiting_.end(), std::back_inserter(given));
    waiting_.clear();
    if (!given.empty()) queue_.donate(std::move(given));
  }
  const auto steal = [&](LaneSeats& seats) {
    if (seats.taken() == 0) seats.open(most_);
    while (auto point = queue_.steal([&](const PointUnderWay& p) { return seats.fits(p); }))
      seats.seat(std::move(point));
  };
  steal(mine);
  if (mine.taken() == 0) steal(others);
}

void LaneFiller::seat() {
  for (std::size_t waiting = waiting_.size(); waiting > 0; --waiting) {
    auto point = std::move(waiting_.front());
    waiting_.pop_front();
    for (auto* seats : {&single_, &double_})
      if (point != nullptr && seats->fits(*point)) seats->seat(std::move(point));
    if (point != nullptr) waiting_.push_back(std::move(point));
  }
}

void LaneFiller::narrow() {
  if (more_ || !waiting_.empty()) return;
  single_.narrow();
  if (single_.taken() == 0) double_.narrow();  // else more will come from there
}

void LaneFiller::share() {
  if (!queue_.wanted()) return;
  std::vector<std::unique_ptr<PointUnderWay>> given;
  const std::size_t keep = (under_way() + 1) / 2;
  for (; !waiting_.empty() && under_way() > keep; waiting_.pop_front())
    given.push_back(std::move(waiting_.front()));
  for (auto* seats : {&double_, &single_}) {
    const std::size_t here = seats->taken(), over = under_way() > keep ? under_way() - keep : 0;
    for (auto& point : seats->remove_all_but(here - std::min(here, over))) given.push_back(std::move(point));
  }
  queue_.donate(std::move(given));
}

std::unique_ptr<PointUnderWay> LaneFiller::begin() {
  const auto next = queue_.next();
  if (!next) {
    if (more_) ended_as_ = queue_.note_end();
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

}  // namespace glassbowl::sim
