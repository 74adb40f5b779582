#pragma once
#include <bit>
#include <cmath>
#include <cstddef>
#include <cstdint>

#include "models/numerics/elementary.hpp"
#include "models/numerics/select.hpp"

namespace glassbowl::models {

/// One value in single precision, whose arithmetic stays there: numbers written in the parts are rounded to
/// it first, as in lanes. A bare `float` would be taken to double precision by them.
struct Single {
  float value;

  Single() = default;
  Single(double x) : value(static_cast<float>(x)) {}  // NOLINT: a number is that value
  double operator[](std::size_t) const { return value; }
  void set(std::size_t, double x) { *this = x; }

  friend Single operator+(Single a, Single b) { return of(a.value + b.value); }
  friend Single operator-(Single a, Single b) { return of(a.value - b.value); }
  friend Single operator*(Single a, Single b) { return of(a.value * b.value); }
  friend Single operator/(Single a, Single b) { return of(a.value / b.value); }
  friend Single operator-(Single a) { return of(-a.value); }
  Single& operator+=(Single b) { return *this = *this + b; }
  Single& operator-=(Single b) { return *this = *this - b; }
  Single& operator*=(Single b) { return *this = *this * b; }

  friend bool operator<(Single a, Single b) { return a.value < b.value; }
  friend bool operator>(Single a, Single b) { return a.value > b.value; }
  friend bool operator!=(Single a, Single b) { return a.value != b.value; }
  friend bool operator<=(Single a, Single b) { return a.value <= b.value; }
  friend bool operator>=(Single a, Single b) { return a.value >= b.value; }

  static Single of(float x) {
    Single out;
    out.value = x;
    return out;
  }
};

inline Single min(Single a, Single b) {
  return a < b ? a : b;
}
inline Single max(Single a, Single b) {
  return a > b ? a : b;
}
inline Single sqrt(Single a) {
  return Single::of(std::sqrt(a.value));
}
inline Single abs(Single a) {
  return Single::of(std::abs(a.value));
}

using SingleBits = BitPattern<std::uint32_t, std::int32_t, std::uint32_t, bool>;
inline SingleBits bits_of(Single x) {
  return {std::bit_cast<std::uint32_t>(x.value)};
}
inline Single from_bits(SingleBits bits) {
  return Single::of(std::bit_cast<float>(bits.word));
}

/// The nearest value in single precision, and it as a double.
inline Single narrow(double x) {
  return x;
}
inline double widen(Single x) {
  return x.value;
}
/// Where rates are of the states' precision.
inline double widen(double x) {
  return x;
}

namespace elementary {

template <>
struct PrecisionOf<Single> {
  using type = SinglePrecision;
};

}  // namespace elementary
}  // namespace glassbowl::models
