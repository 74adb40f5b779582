#pragma once
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

inline constexpr std::size_t most = 24;

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
  // clang-format off
  if constexpr (size == 1) { auto& [m1] = whole; return std::tie(m1); }
  else if constexpr (size == 2) { auto& [m1, m2] = whole; return std::tie(m1, m2); }
  else if constexpr (size == 3) { auto& [m1, m2, m3] = whole; return std::tie(m1, m2, m3); }
  else if constexpr (size == 4) { auto& [m1, m2, m3, m4] = whole; return std::tie(m1, m2, m3, m4); }
  else if constexpr (size == 5) { auto& [m1, m2, m3, m4, m5] = whole; return std::tie(m1, m2, m3, m4, m5); }
  else if constexpr (size == 6) { auto& [m1, m2, m3, m4, m5, m6] = whole; return std::tie(m1, m2, m3, m4, m5, m6); }
  else if constexpr (size == 7) { auto& [m1, m2, m3, m4, m5, m6, m7] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7); }
  else if constexpr (size == 8) { auto& [m1, m2, m3, m4, m5, m6, m7, m8] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8); }
  else if constexpr (size == 9) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9); }
  else if constexpr (size == 10) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10); }
  else if constexpr (size == 11) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11); }
  else if constexpr (size == 12) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12); }
  else if constexpr (size == 13) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13); }
  else if constexpr (size == 14) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14); }
  else if constexpr (size == 15) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15); }
  else if constexpr (size == 16) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16); }
  else if constexpr (size == 17) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17); }
  else if constexpr (size == 18) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18); }
  else if constexpr (size == 19) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19); }
  else if constexpr (size == 20) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20); }
  else if constexpr (size == 21) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20, m21] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20, m21); }
  else if constexpr (size == 22) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20, m21, m22] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20, m21, m22); }
  else if constexpr (size == 23) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20, m21, m22, m23] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20, m21, m22, m23); }
  else if constexpr (size == 24) { auto& [m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20, m21, m22, m23, m24] = whole; return std::tie(m1, m2, m3, m4, m5, m6, m7, m8, m9, m10, m11, m12, m13, m14, m15, m16, m17, m18, m19, m20, m21, m22, m23, m24); }
  // clang-format on
}

}  // namespace glassbowl::sim
