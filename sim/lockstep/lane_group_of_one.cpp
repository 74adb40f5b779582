#include <utility>

#include "sim/lockstep/lane_kernel.hpp"

namespace glassbowl::sim {
namespace {

/// A simulation by itself, where a group is asked for.
class GroupOfOne : public LaneGroup {
 public:
  explicit GroupOfOne(bool single_rates) : single_rates_(single_rates) {}
  std::size_t size() const override { return 1; }
  bool single_rates() const override { return single_rates_; }
  bool empty(std::size_t) const override { return leg_.simulation == nullptr; }
  void put(std::size_t lane, const Leg& leg) override {
    check_seat(*this, lane, leg);
    leg_ = leg;
  }
  Leg remove(std::size_t) override { return std::exchange(leg_, {}); }

  std::vector<Arrival> advance() override {
    if (empty(0)) return {};
    const Leg leg = remove(0);
    try {
      leg.simulation->advance(leg.limit, leg.listener());
    } catch (...) {
      return {{0, std::current_exception()}};
    }
    return {{0, nullptr}};
  }

 private:
  bool single_rates_;
  Leg leg_;
};

}  // namespace

std::unique_ptr<LaneGroup> lane_group_of_one(bool single_rates) {
  return std::make_unique<GroupOfOne>(single_rates);
}

}  // namespace glassbowl::sim
