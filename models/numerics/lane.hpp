#pragma once
#include <bit>
#include <cmath>
#include <cstddef>
#include <cstdint>

#include "models/numerics/elementary.hpp"
#include "models/numerics/select.hpp"

/// Several values that go through the same arithmetic side by side, a lane each. The parts of the model take
/// it in place of `double`, unchanged. Included by the kernels only, each compiled for one instruction set:
/// GLASSBOWL_KERNEL names it, GLASSBOWL_LANES is how many values of the precision its rates have one of its
/// registers holds.
namespace glassbowl::models {

inline namespace GLASSBOWL_KERNEL {

inline constexpr std::size_t lanes = GLASSBOWL_LANES;

/// Registers of as many numbers: `Words` of their size with sign, `Unsigned` without.
template <class Number>
struct Register;
template <>
struct Register<double> {
  using Word = std::uint64_t;
  using Values = double __attribute__((vector_size(8 * GLASSBOWL_LANES)));
  using Words = std::int64_t __attribute__((vector_size(8 * GLASSBOWL_LANES)));
  using Unsigned = std::uint64_t __attribute__((vector_size(8 * GLASSBOWL_LANES)));
};
template <>
struct Register<float> {
  using Word = std::uint32_t;
  using Values = float __attribute__((vector_size(4 * GLASSBOWL_LANES)));
  using Words = std::int32_t __attribute__((vector_size(4 * GLASSBOWL_LANES)));
  using Unsigned = std::uint32_t __attribute__((vector_size(4 * GLASSBOWL_LANES)));
};

/// Yes or no for each lane: all bits of its word or none.
template <class Number>
struct MaskOf {
  typename Register<Number>::Words word;
};

template <class Number>
struct LaneOf {
  using Values = typename Register<Number>::Values;
  using Mask = MaskOf<Number>;
  Values value;

  LaneOf() = default;
  LaneOf(Values v) : value(v) {}  // NOLINT: the same thing
  LaneOf(double x)
      : value(static_cast<Number>(x) - Values{}) {}  // NOLINT: a number is the same in every lane
  double operator[](std::size_t lane) const { return value[lane]; }
  void set(std::size_t lane, double x) { value[lane] = static_cast<Number>(x); }

  friend LaneOf operator+(LaneOf a, LaneOf b) { return a.value + b.value; }
  friend LaneOf operator-(LaneOf a, LaneOf b) { return a.value - b.value; }
  friend LaneOf operator*(LaneOf a, LaneOf b) { return a.value * b.value; }
  friend LaneOf operator/(LaneOf a, LaneOf b) { return a.value / b.value; }
  friend LaneOf operator-(LaneOf a) { return -a.value; }
  LaneOf& operator+=(LaneOf b) { return *this = *this + b; }
  LaneOf& operator-=(LaneOf b) { return *this = *this - b; }
  LaneOf& operator*=(LaneOf b) { return *this = *this * b; }

  friend Mask operator<(LaneOf a, LaneOf b) { return {a.value < b.value}; }
  friend Mask operator>(LaneOf a, LaneOf b) { return {a.value > b.value}; }
  friend Mask operator!=(LaneOf a, LaneOf b) { return {a.value != b.value}; }
  friend Mask operator<=(LaneOf a, LaneOf b) { return {a.value <= b.value}; }
  friend Mask operator>=(LaneOf a, LaneOf b) { return {a.value >= b.value}; }
};

using Lane = LaneOf<double>;
using SingleLane = LaneOf<float>;

template <class Number>
LaneOf<Number> select(MaskOf<Number> condition, LaneOf<Number> a, LaneOf<Number> b) {
  return condition.word ? a.value : b.value;
}
template <class Number>
bool none(MaskOf<Number> condition) {
  std::int64_t any = 0;
  for (std::size_t k = 0; k < lanes; ++k) any |= condition.word[k];
  return any == 0;
}
template <class Number>
LaneOf<Number> min(LaneOf<Number> a, LaneOf<Number> b) {
  return a.value < b.value ? a.value : b.value;
}
template <class Number>
LaneOf<Number> max(LaneOf<Number> a, LaneOf<Number> b) {
  return a.value > b.value ? a.value : b.value;
}
template <class Number>
LaneOf<Number> sqrt(LaneOf<Number> a) {
  typename LaneOf<Number>::Values out = a.value;  // g++ 12 takes it for uninitialised on newer processors
  for (std::size_t k = 0; k < lanes; ++k) out[k] = std::sqrt(a.value[k]);
  return out;
}

template <class Number>
auto bits_of(LaneOf<Number> a) {
  using R = Register<Number>;
  using Pattern = BitPattern<typename R::Unsigned, typename R::Words, typename R::Word, MaskOf<Number>>;
  return Pattern{std::bit_cast<typename R::Unsigned>(a.value)};
}
inline Lane from_bits(decltype(bits_of(Lane())) a) {
  return std::bit_cast<Lane::Values>(a.word);
}
inline SingleLane from_bits(decltype(bits_of(SingleLane())) a) {
  return std::bit_cast<SingleLane::Values>(a.word);
}
template <class Number>
LaneOf<Number> abs(LaneOf<Number> a) {
  using Word = typename Register<Number>::Word;
  return from_bits(bits_of(a) & static_cast<Word>(~Word{0} >> 1));
}

/// The nearest values in single precision, and these as doubles.
inline SingleLane narrow(Lane a) {
  return __builtin_convertvector(a.value, SingleLane::Values);
}
inline Lane widen(SingleLane a) {
  return __builtin_convertvector(a.value, Lane::Values);
}
inline Lane widen(Lane a) {
  return a;
}

}  // namespace GLASSBOWL_KERNEL

namespace elementary {

template <>
struct PrecisionOf<SingleLane> {
  using type = SinglePrecision;
};

}  // namespace elementary
}  // namespace glassbowl::models
