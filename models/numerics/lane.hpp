#pragma once
#include <cmath>
#include <cstddef>
#include <cstdint>

#include "models/numerics/elementary.hpp"
#include "models/numerics/select.hpp"

/// Several values that go through the same arithmetic side by side, a lane each. The parts of the model take
/// it in place of `double`, unchanged. Included by the kernels only, each compiled for one instruction set:
/// GLASSBOWL_KERNEL names it, GLASSBOWL_LANES is how many values its registers hold.
namespace glassbowl::models {

inline namespace GLASSBOWL_KERNEL {

inline constexpr std::size_t lanes = GLASSBOWL_LANES;

using Values = double __attribute__((vector_size(8 * GLASSBOWL_LANES)));
using Words = std::int64_t __attribute__((vector_size(8 * GLASSBOWL_LANES)));

/// Yes or no for each lane: all bits of its word or none.
struct LaneMask {
  Words word;
  bool operator[](std::size_t lane) const { return word[lane] != 0; }
};

/// The values' bit patterns, as whole numbers that wrap around.
struct LaneBits {
  using Unsigned = std::uint64_t __attribute__((vector_size(8 * GLASSBOWL_LANES)));
  Unsigned word;
  friend LaneBits operator+(LaneBits a, LaneBits b) { return {a.word + b.word}; }
  friend LaneBits operator-(LaneBits a, LaneBits b) { return {a.word - b.word}; }
  friend LaneBits operator+(LaneBits a, std::uint64_t b) { return {a.word + b}; }
  friend LaneBits operator-(LaneBits a, std::uint64_t b) { return {a.word - b}; }
  friend LaneBits operator<<(LaneBits a, int b) { return {a.word << b}; }
  /// Keeps the sign.
  friend LaneBits operator>>(LaneBits a, int b) {
    return {reinterpret_cast<Unsigned>(reinterpret_cast<Words>(a.word) >> b)};
  }
  friend LaneBits operator&(LaneBits a, std::uint64_t b) { return {a.word & b}; }
  friend LaneMask operator!=(LaneBits a, std::uint64_t b) { return {a.word != b}; }
};

struct Lane {
  Values value;

  Lane() = default;
  Lane(Values v) : value(v) {}             // NOLINT: the same thing
  Lane(double x) : value(x - Values{}) {}  // NOLINT: a number is the same in every lane
  double operator[](std::size_t lane) const { return value[lane]; }
  void set(std::size_t lane, double x) { value[lane] = x; }

  friend Lane operator+(Lane a, Lane b) { return a.value + b.value; }
  friend Lane operator-(Lane a, Lane b) { return a.value - b.value; }
  friend Lane operator*(Lane a, Lane b) { return a.value * b.value; }
  friend Lane operator/(Lane a, Lane b) { return a.value / b.value; }
  friend Lane operator-(Lane a) { return -a.value; }
  Lane& operator+=(Lane b) { return *this = *this + b; }
  Lane& operator-=(Lane b) { return *this = *this - b; }
  Lane& operator*=(Lane b) { return *this = *this * b; }

  friend LaneMask operator<(Lane a, Lane b) { return {a.value < b.value}; }
  friend LaneMask operator>(Lane a, Lane b) { return {a.value > b.value}; }
  friend LaneMask operator!=(Lane a, Lane b) { return {a.value != b.value}; }
  friend LaneMask operator<=(Lane a, Lane b) { return {a.value <= b.value}; }
  friend LaneMask operator>=(Lane a, Lane b) { return {a.value >= b.value}; }
};

inline Lane select(LaneMask condition, Lane a, Lane b) {
  return condition.word ? a.value : b.value;
}
inline bool none(LaneMask condition) {
  std::int64_t any = 0;
  for (std::size_t k = 0; k < lanes; ++k) any |= condition.word[k];
  return any == 0;
}
inline Lane lesser(Lane a, Lane b) {
  return a.value < b.value ? a.value : b.value;
}
inline Lane greater(Lane a, Lane b) {
  return a.value > b.value ? a.value : b.value;
}
inline Lane sqrt(Lane a) {
  Values out;
  for (std::size_t k = 0; k < lanes; ++k) out[k] = std::sqrt(a.value[k]);
  return out;
}
inline Lane abs(Lane a) {
  return reinterpret_cast<Values>(reinterpret_cast<Words>(a.value) & 0x7fffffffffffffff);
}
inline LaneBits bits_of(Lane a) {
  return {reinterpret_cast<LaneBits::Unsigned>(a.value)};
}
inline Lane from_bits(LaneBits a) {
  return reinterpret_cast<Values>(a.word);
}

}  // namespace GLASSBOWL_KERNEL
}  // namespace glassbowl::models
