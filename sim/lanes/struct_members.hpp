#pragma once
#include <boost/preprocessor/repetition/enum_params.hpp>
#include <boost/preprocessor/repetition/repeat_from_to.hpp>
#include <cstddef>
#include <tuple>
#include <utility>

/// The members of a plain struct, without naming them: so that no parameter can be forgotten when several
/// bikes are laid side by side.
namespace glassbowl::sim {
namespace fields {

/// Stands for a value of any type, where members are only counted.
struct Anything {
  template <class T>
  operator T() const;  // NOLINT: that is its purpose
};

template <class T, std::size_t... I>
constexpr bool takes(std::index_sequence<I...>) {
  return requires {
    T{(static_cast<void>(I), Anything{})...};
  };
}

inline constexpr std::size_t most = 32;

/// How many members T has.
template <class T, std::size_t N = most + 1>
constexpr std::size_t count() {
  if constexpr (N == 0 || takes<T>(std::make_index_sequence<N>{}))
    return N;
  else
    return count<T, N - 1>();
}

}  // namespace fields

/// References to all members of `whole`, in their order.
template <class T>
auto members(T& whole) {
  constexpr std::size_t size = fields::count<std::remove_const_t<T>>();
  static_assert(size >= 1 && size <= fields::most, "no members, or more than foreseen here");
#define GLASSBOWL_MEMBERS(z, n, unused)                    \
  if constexpr (size == n) {                               \
    auto& [BOOST_PP_ENUM_PARAMS_Z(z, n, member)] = whole;  \
    return std::tie(BOOST_PP_ENUM_PARAMS_Z(z, n, member)); \
  }
  BOOST_PP_REPEAT_FROM_TO(1, 33, GLASSBOWL_MEMBERS, unused)
#undef GLASSBOWL_MEMBERS
}

}  // namespace glassbowl::sim
