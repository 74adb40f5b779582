#pragma once
#include <cstddef>
#include <exception>
#include <memory>
#include <vector>

#include "sim/lockstep/lane_group.hpp"
#include "sim/points/point_exchange.hpp"

namespace glassbowl::sim {

/// Points that go side by side on the lanes of one group, all with rates of one precision.
class LaneSeats {
 public:
  explicit LaneSeats(bool single_rates) : single_rates_(single_rates) {}

  std::size_t taken() const;
  bool full() const { return taken() == seats_.size(); }
  /// When nobody is seated: makes room for up to `points`.
  void open(std::size_t points);
  /// Whether there is a lane for it: same precision, same parts as those seated.
  bool fits(const PointUnderWay& point) const;
  /// Seats one that fits, to go its leg.
  void seat(std::unique_ptr<PointUnderWay> point);
  /// The same on the lane that it has just left, which has its parameters still.
  void seat_again(std::unique_ptr<PointUnderWay> point, std::size_t lane);

  /// Advances all until some have ended their legs; takes those off.
  struct Arrival {
    std::size_t lane;
    std::unique_ptr<PointUnderWay> point;
    std::exception_ptr failure;
  };
  std::vector<Arrival> advance();

  /// Takes off all but so many, in the midst of their legs.
  std::vector<std::unique_ptr<PointUnderWay>> remove_all_but(std::size_t keep);
  /// Moves all who are left to the narrowest group that seats them.
  void narrow();

 private:
  void use(std::unique_ptr<LaneGroup> group, std::size_t points);

  bool single_rates_;
  std::size_t room_for_ = 0;  // points
  std::unique_ptr<LaneGroup> group_;
  std::vector<std::unique_ptr<PointUnderWay>> seats_;
};

}  // namespace glassbowl::sim
