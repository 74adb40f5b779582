#include <algorithm>
#include <cmath>
#include <memory>

#include "models/numerics/lane.hpp"
#include "sim/lanes/pack_bikes.hpp"
#include "sim/lockstep/lane_kernel.hpp"
#include "sim/network/rates_by_precision.hpp"
#include "sim/network/right_hand_side.hpp"
#include "sim/solver/ralston.hpp"

/// Lanes of one instruction set, with rates of one precision: this file is compiled once for each, see
/// CMakeLists.txt.
namespace glassbowl::sim {
inline namespace GLASSBOWL_KERNEL {
namespace {

using m::Lane;
using m::lanes;
using Rate = m::LaneOf<GLASSBOWL_RATE>;  // double or float
constexpr bool in_single = sizeof(GLASSBOWL_RATE) < sizeof(double);
constexpr double unbounded = -1e300;  // a lane nobody sat in; infinity less infinity is no number

template <class Real>
void copy_lane(const std::vector<Real>& column, std::size_t lane, State& out) {
  out.resize(column.size());
  for (std::size_t i = 0; i < out.size(); ++i) out[i] = column[i][lane];
}

class Group : public LaneGroup {
 public:
  std::size_t size() const override { return lanes; }
  bool single_rates() const override { return in_single; }
  bool empty(std::size_t lane) const override { return seat_[lane].simulation == nullptr; }

  void put(std::size_t lane, const Leg& leg) override {
    check_seat(*this, lane, leg);
    Seat& seat = seat_[lane];
    Simulation& simulation = *leg.simulation;
    const auto& bike = simulation.network().bike();
    for (auto& other : seat_) {
      if (other.network == nullptr || same_parts(other.network->bike(), bike)) continue;
      if (other.simulation != nullptr)
        throw std::invalid_argument("bikes side by side must have the same parts");
      other.network = nullptr;  // has left; its parameters fit no longer
      changed_ = true;
    }
    if (seat.network != simulation.shared_network()) changed_ = true;
    seat.simulation = &simulation;
    seat.network = simulation.shared_network();
    seat.leg = leg;
    seat.time = simulation.time();
    seat.step = simulation.step_options().step;
    seat.quiet_until = simulation.quiet_until();
    fresh_.push_back(lane);
  }

  Leg remove(std::size_t lane) override {
    if (std::erase(fresh_, lane) == 0) hand_back(lane);  // whoever has not begun has moved nowhere
    seat_[lane].simulation = nullptr;
    return seat_[lane].leg;
  }

  std::vector<Arrival> advance() override {
    settle();
    std::vector<Arrival> arrived;
    while (arrived.empty()) {
      bool someone = false;
      for (std::size_t k = 0; k < lanes; ++k) {
        if (empty(k)) continue;
        if (seat_[k].time >= seat_[k].leg.limit || seat_[k].simulation->stalled())
          arrived.push_back({k, nullptr});
        else
          someone = true;
      }
      if (!arrived.empty() || !someone) break;
      step();
      land(arrived);
    }
    for (const auto& a : arrived) {
      if (!a.failure) hand_back(a.lane);
      seat_[a.lane].simulation = nullptr;
    }
#ifdef __AVX__
    __builtin_ia32_vzeroupper();  // else what follows, compiled for any processor, runs at half speed
#endif
    return arrived;
  }

 private:
  struct Seat {
    Simulation* simulation = nullptr;
    std::shared_ptr<const Network<double>> network;  ///< whose parameters the lane has; may outstay
    Leg leg;
    double time = 0.0, before = 0.0, step = 0.0, quiet_until = 0.0;
  };

  /// Takes in what was put since the last step.
  void settle() {
    if (changed_) {
      std::shared_ptr<const Network<double>> any;
      for (const auto& seat : seat_)
        if (seat.simulation != nullptr) any = seat.network;
      Each<Bike<double>, lanes> bikes;
      for (std::size_t k = 0; k < lanes; ++k) {
        if (seat_[k].network == nullptr) seat_[k].network = any;
        bikes[k] = &seat_[k].network->bike();
      }
      rates_ = std::make_unique<RatesIn<Lane, Rate>>(pack_bikes<Rate>(bikes));
      for (auto* column : {&x_, &x_before_}) column->resize(states().size, Lane(0.0));
      rates_before_.resize(states().size, Rate(0.0));
      for (std::size_t k = 0; k < lanes; ++k)
        if (!empty(k)) rates_->set_discrete(k, seat_[k].simulation->discrete());
      changed_ = false;
    }
    for (const std::size_t lane : fresh_) {
      if (empty(lane)) continue;
      const auto& x = seat_[lane].simulation->state();
      for (std::size_t i = 0; i < x.size(); ++i) x_[i].set(lane, x[i]);
      rates_->set_discrete(lane, seat_[lane].simulation->discrete());
      const auto& lowest = seat_[lane].simulation->step_check().lowest();
      bounded_.clear();
      for (std::size_t i = 0; i < x.size(); ++i)
        if (std::isfinite(lowest[i])) bounded_.push_back(i);
      lowest_.resize(bounded_.size(), Lane(unbounded));
      for (std::size_t i = 0; i < bounded_.size(); ++i) lowest_[i].set(lane, lowest[bounded_[i]]);
      // A lane that nobody sits in follows one that is occupied, so that it computes sound numbers.
      for (std::size_t k = 0; k < lanes; ++k)
        if (empty(k)) {
          for (std::size_t i = 0; i < x.size(); ++i) x_[i].set(k, x[i]);
          seat_[k].time = seat_[lane].time;
        }
    }
    fresh_.clear();
  }

  /// One step of Ralston's method, each lane with its own time and length: the last one of a leg absorbs what
  /// rounding left, as in the stepper for one.
  void step() {
    Lane t(0.0), dt(0.0);
    for (std::size_t k = 0; k < lanes; ++k) {
      Seat& seat = seat_[k];
      t.set(k, seat.time);
      if (empty(k)) continue;
      const double left = seat.leg.limit - seat.time;
      const double length = left < 1.5 * seat.step ? left : seat.step;
      dt.set(k, length);
      seat.before = seat.time;
      seat.time = length != seat.step ? seat.leg.limit : seat.time + length;
    }
    x_.swap(x_before_);
    rates_->at(x_before_.data(), rates_before_, t);
    method_.step(*rates_, x_before_, rates_before_, t, dt, states().accumulators_begin(), x_);
    // Stays zero unless a state is no number, or below its bound. Four at a time: what is carried from one to
    // the next may lie in memory.
    Lane sound(0.0);
    const auto add_up = [&](std::size_t count, auto&& term) {
      std::size_t i = 0;
      for (; i + 4 <= count; i += 4) sound += (term(i) + term(i + 1)) + (term(i + 2) + term(i + 3));
      for (; i < count; ++i) sound += term(i);
    };
    add_up(x_.size(), [&](std::size_t i) { return x_[i] - x_[i]; });
    add_up(bounded_.size(), [&](std::size_t i) {
      const Lane above = x_[bounded_[i]] - lowest_[i];
      return above - m::abs(above);  // no choice: of registers wider than the processor's it goes one by one
    });
    sound_ = sound;
  }

  /// Events of the lanes that just passed one.
  void land(std::vector<Arrival>& arrived) {
    const std::size_t at = states().crank.index(&m::CrankState<double>::angle);
    for (std::size_t k = 0; k < lanes; ++k) {
      if (empty(k)) continue;
      Seat& seat = seat_[k];
      try {
        if (!(sound_[k] == 0.0)) {
          hand_back(k);
          seat.simulation->step_check()(seat.simulation->state(), seat.before);
        }
        if (x_[at][k] < seat.quiet_until) continue;
        const auto ends = seat.simulation->begin_arrival();
        copy_lane(x_before_, k, ends.before);
        copy_lane(rates_before_, k, ends.rates_before);
        copy_lane(x_, k, ends.now);
        seat.simulation->arrive(seat.before, seat.time, seat.leg.listener());
        seat.quiet_until = seat.simulation->quiet_until();
        rates_->set_discrete(k, seat.simulation->discrete());
      } catch (...) {
        arrived.push_back({k, std::current_exception()});
      }
    }
  }

  const StateMap& states() const {
    return rates_->network.states();
  }

  void hand_back(std::size_t lane) {
    seat_[lane].simulation->set_time(seat_[lane].time);
    copy_lane(x_, lane, seat_[lane].simulation->state());
  }

  std::array<Seat, lanes> seat_;
  std::vector<std::size_t> fresh_;
  bool changed_ = false;
  std::unique_ptr<RatesIn<Lane, Rate>> rates_;
  std::vector<Lane> x_, x_before_;
  std::vector<Rate> rates_before_;  // at x_before_
  Ralston<Lane, Rate> method_;
  std::vector<std::size_t> bounded_;  // states that have a bound
  std::vector<Lane> lowest_;          // those bounds
  Lane sound_{0.0};
};

}  // namespace
}  // namespace GLASSBOWL_KERNEL

std::unique_ptr<LaneGroup> GLASSBOWL_ENTRY() {
  return std::make_unique<GLASSBOWL_KERNEL::Group>();
}

}  // namespace glassbowl::sim
