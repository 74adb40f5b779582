#pragma once
#include <cstddef>
#include <utility>

#include "models/gas/volume.hpp"
#include "models/part.hpp"

/// The ways from a part's state to its place in the flat vector, and none beside them.
namespace glassbowl::sim {

namespace m = glassbowl::models;

inline constexpr std::size_t absent = static_cast<std::size_t>(-1);  ///< place of what is not fitted

/// Neighbouring places of one kind.
struct IndexRange {
  std::size_t begin = 0, count = 0;
  std::size_t end() const { return begin + count; }
  std::size_t operator[](std::size_t i) const { return begin + i; }
};

/// Calls `visit(i, member)` for each state of a part: its place among them and its pointer to member.
template <class State, class Visit>
constexpr void for_each_state(Visit&& visit) {
  constexpr auto list = State::states();
  [&]<std::size_t... I>(std::index_sequence<I...>) {
    (visit(std::integral_constant<std::size_t, I>{}, list[I].member), ...);
  }
  (std::make_index_sequence<list.size()>{});
}

/// Where the state of one part lies.
template <template <class> class State>
class StateHandle {
 public:
  StateHandle() = default;  ///< of a part that is not fitted
  explicit StateHandle(std::size_t begin) : begin_(begin) {}

  bool fitted() const { return begin_ != absent; }
  /// Place of one member, as in `index(&MainCircuitState<double>::well)`.
  std::size_t index(double State<double>::*member) const {
    std::size_t at = absent;
    for_each_state<State<double>>([&](std::size_t i, auto other) {
      if (other == member) at = begin_ + i;
    });
    return at;
  }
  template <class Real>
  State<Real> load(const Real* x) const {
    State<Real> state;
    for_each_state<State<Real>>([&](std::size_t i, auto member) { state.*member = x[begin_ + i]; });
    return state;
  }
  /// Puts a state into the states, or its rates into the rates.
  template <class Real>
  void store(Real* x, const State<Real>& state) const {
    for_each_state<State<Real>>([&](std::size_t i, auto member) { x[begin_ + i] = state.*member; });
  }
  /// `sum` and what the part holds of fuel or air [kg].
  template <class Real>
  Real add_held(m::Holds what, const Real* x, Real sum) const {
    if (!fitted()) return sum;
    constexpr auto list = State<Real>::states();
    for (std::size_t i = 0; i < list.size(); ++i)
      if (list[i].meaning.holds == what) sum += x[begin_ + i];
    return sum;
  }

 private:
  std::size_t begin_ = absent;
};

/// Where the states of all gas volumes lie: one kind of all volumes after the other, so that a register takes
/// many of one kind.
class GasStates {
 public:
  GasStates() = default;
  GasStates(std::size_t begin, std::size_t volumes) : begin_(begin), volumes_(volumes) {}

  /// Mass of a species or, after them, `models::energy`.
  std::size_t index(std::size_t slot, std::size_t volume) const { return begin_ + slot * volumes_ + volume; }
  std::size_t apart() const { return volumes_; }  ///< from one kind to the next, of one volume
  template <class Real>
  m::VolumeState<Real> load(const Real* x, std::size_t volume) const {
    return m::volume_at(x + begin_ + volume, volumes_);
  }
  template <class Real>
  void store(Real* x, std::size_t volume, const m::VolumeState<Real>& state) const {
    m::put_volume(state, x + begin_ + volume, volumes_);
  }

 private:
  std::size_t begin_ = 0, volumes_ = 0;
};

}  // namespace glassbowl::sim
