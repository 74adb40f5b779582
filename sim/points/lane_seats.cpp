#include "sim/points/lane_seats.hpp"

#include <algorithm>
#include <utility>

namespace glassbowl::sim {

std::size_t LaneSeats::taken() const {
  return seats_.size() - static_cast<std::size_t>(std::count(seats_.begin(), seats_.end(), nullptr));
}

void LaneSeats::open(std::size_t points) {
  if (points != room_for_) use(make_lane_group_for(points, single_rates_), points);
}

void LaneSeats::use(std::unique_ptr<LaneGroup> group, std::size_t points) {
  room_for_ = points;
  group_ = std::move(group);
  seats_ = std::vector<std::unique_ptr<PointUnderWay>>(group_->size());
}

bool LaneSeats::fits(const PointUnderWay& point) const {
  const auto simulation = [](const PointUnderWay& p) -> const Simulation& {
    return *p.march->leg().simulation;
  };
  return !full() && simulation(point).step_options().single_rates == single_rates_ &&
         std::all_of(seats_.begin(), seats_.end(), [&](const auto& other) {
           return other == nullptr ||
                  same_parts(simulation(*other).network().bike(), simulation(point).network().bike());
         });
}

void LaneSeats::seat(std::unique_ptr<PointUnderWay> point) {
  const auto free = std::find(seats_.begin(), seats_.end(), nullptr);
  seat_again(std::move(point), static_cast<std::size_t>(free - seats_.begin()));
}

void LaneSeats::seat_again(std::unique_ptr<PointUnderWay> point, std::size_t lane) {
  group_->put(lane, point->march->leg());
  seats_[lane] = std::move(point);
}

std::vector<LaneSeats::Arrival> LaneSeats::advance() {
  std::vector<Arrival> out;
  for (const auto& arrival : group_->advance())
    out.push_back({arrival.lane, std::move(seats_[arrival.lane]), arrival.failure});
  return out;
}

std::vector<std::unique_ptr<PointUnderWay>> LaneSeats::remove_all_but(std::size_t keep) {
  std::vector<std::unique_ptr<PointUnderWay>> out;
  for (std::size_t lane = 0; lane < seats_.size() && taken() > keep; ++lane) {
    if (seats_[lane] == nullptr) continue;
    group_->remove(lane);
    out.push_back(std::move(seats_[lane]));
  }
  return out;
}

void LaneSeats::narrow() {
  const std::size_t left = taken();
  if (left == 0 || left > seats_.size() / 2) return;
  auto narrower = make_lane_group_for(left, single_rates_);
  if (narrower->size() == seats_.size()) return;  // there is none
  auto points = remove_all_but(0);
  use(std::move(narrower), left);
  for (auto& point : points) seat(std::move(point));
}

}  // namespace glassbowl::sim
