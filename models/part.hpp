#pragma once
#include <array>
#include <cstddef>
#include <string_view>

namespace glassbowl::models {

inline constexpr double unbounded = -1e300;

/// What a state is a store of, if of any.
enum class Holds { nothing, fuel, air };
/// How a trace keeps a state: in single precision, in double (stores so large that single precision would
/// lose their changes), or not at all.
enum class Kept { narrow, wide, no };

/// A state of a part: its name inside the part, SI unit, meaning, and the size at which it matters.
/// `nominal` scales error tolerances, so that pascals, kilograms and radians share one norm.
/// `lower` is a physical bound (a mass is not negative); a state that passes it is reported, never clipped.
struct StateMeaning {
  std::string_view name, unit, long_name;
  double nominal;
  double lower = unbounded;
  Holds holds = Holds::nothing;
  Kept kept = Kept::narrow;
};

/// A member of a part's state and its meaning.
template <class Real, class State>
struct StateEntry {
  Real State::*member;
  StateMeaning meaning;
};

/// The states of a part, each member of its struct once. Every part lists its own beside that struct, in
/// `states()`; their order there is that in the flat vector.
template <class Real, class State, std::size_t count>
constexpr std::array<StateEntry<Real, State>, count> list_states(
    const StateEntry<Real, State> (&entries)[count]) {
  static_assert(sizeof(State) == count * sizeof(Real), "every member of a part's state needs one entry");
  return std::to_array(entries);
}

}  // namespace glassbowl::models
