#pragma once
#include <array>
#include <cmath>
#include <cstddef>
#include <ostream>
#include <stdexcept>

#include "models/numerics/elementary.hpp"

/// A number that carries its SI dimension at run time. Parts are templates on their scalar: run with this
/// one, the same text throws when unlike quantities are added, compared or put into exp, sin, acos.
///
/// A plain number is dimensionless, except that plain numbers up to 2e-6 (zero, guards against division
/// by zero) take the dimension of what they are added to or compared with. `models::UnitConstant` carries its
/// own.
namespace glassbowl::tests {

/// Exponents of kg, m, s, K in sixteenths, so that a fourth root of a root is still whole.
struct Dimension {
  std::array<int, 4> sixteenths{};

  friend bool operator==(const Dimension&, const Dimension&) = default;
  friend Dimension operator*(Dimension a, const Dimension& b) {
    for (std::size_t i = 0; i < 4; ++i) a.sixteenths[i] += b.sixteenths[i];
    return a;
  }
  friend Dimension operator/(Dimension a, const Dimension& b) {
    for (std::size_t i = 0; i < 4; ++i) a.sixteenths[i] -= b.sixteenths[i];
    return a;
  }
  Dimension root() const {
    Dimension half = *this;
    for (int& e : half.sixteenths) {
      if (e % 2 != 0) throw std::domain_error("a root of a dimension beyond sixteenths");
      e /= 2;
    }
    return half;
  }
  friend std::ostream& operator<<(std::ostream& out, const Dimension& d) {
    const char* names[] = {"kg", "m", "s", "K"};
    for (std::size_t i = 0; i < 4; ++i)
      if (d.sixteenths[i] != 0) out << names[i] << '^' << d.sixteenths[i] / 16.0 << ' ';
    return out;
  }
};

namespace units {
inline constexpr Dimension one{};
inline constexpr Dimension kilogram{{16, 0, 0, 0}};
inline constexpr Dimension metre{{0, 16, 0, 0}};
inline constexpr Dimension second{{0, 0, 16, 0}};
inline constexpr Dimension kelvin{{0, 0, 0, 16}};
inline constexpr Dimension square_metre{{0, 32, 0, 0}};
inline constexpr Dimension cubic_metre{{0, 48, 0, 0}};
inline constexpr Dimension metre_per_second{{0, 16, -16, 0}};
inline constexpr Dimension acceleration{{0, 16, -32, 0}};
inline constexpr Dimension kinematic_viscosity{{0, 32, -16, 0}};
inline constexpr Dimension mass_flow{{16, 0, -16, 0}};
inline constexpr Dimension density{{16, -48, 0, 0}};
inline constexpr Dimension newton{{16, 16, -32, 0}};
inline constexpr Dimension pascal{{16, -16, -32, 0}};
inline constexpr Dimension joule{{16, 32, -32, 0}};
inline constexpr Dimension joule_per_kilogram{{0, 32, -32, 0}};
inline constexpr Dimension joule_per_kilogram_kelvin{{0, 32, -32, -16}};
}  // namespace units

class Dimensioned {
 public:
  static constexpr double guard = 2e-6;

  Dimensioned() = default;
  // NOLINTNEXTLINE(google-explicit-constructor): parts mix plain numbers with their scalar.
  Dimensioned(double value) : value_(value), adapts_(std::abs(value) <= guard) {}
  Dimensioned(double value, Dimension dimension) : value_(value), dimension_(dimension), adapts_(false) {}

  /// What parts make of a `models::UnitConstant`.
  static Dimensioned with_unit(double value, int kg, int m, int s, int K) {
    return {value, Dimension{{16 * kg, 16 * m, 16 * s, 16 * K}}};
  }

  double value() const { return value_; }
  Dimension dimension() const { return dimension_; }

  friend Dimensioned operator*(const Dimensioned& a, const Dimensioned& b) {
    return {a.value_ * b.value_, a.dimension_ * b.dimension_, a.adapts_ && b.adapts_};
  }
  friend Dimensioned operator/(const Dimensioned& a, const Dimensioned& b) {
    return {a.value_ / b.value_, a.dimension_ / b.dimension_, a.adapts_ && b.adapts_};
  }
  friend Dimensioned operator+(const Dimensioned& a, const Dimensioned& b) {
    return {a.value_ + b.value_, common(a, b), a.adapts_ && b.adapts_};
  }
  friend Dimensioned operator-(const Dimensioned& a, const Dimensioned& b) { return a + -b; }
  Dimensioned operator-() const { return {-value_, dimension_, adapts_}; }
  Dimensioned& operator+=(const Dimensioned& b) { return *this = *this + b; }

  friend bool operator<(const Dimensioned& a, const Dimensioned& b) {
    common(a, b);
    return a.value_ < b.value_;
  }
  friend bool operator>(const Dimensioned& a, const Dimensioned& b) { return b < a; }
  friend bool operator<=(const Dimensioned& a, const Dimensioned& b) { return !(b < a); }
  friend bool operator>=(const Dimensioned& a, const Dimensioned& b) { return !(a < b); }

  friend Dimensioned min(const Dimensioned& a, const Dimensioned& b) {
    return {a < b ? a.value_ : b.value_, common(a, b), a.adapts_ && b.adapts_};
  }
  friend Dimensioned max(const Dimensioned& a, const Dimensioned& b) {
    return {a < b ? b.value_ : a.value_, common(a, b), a.adapts_ && b.adapts_};
  }
  friend Dimensioned abs(const Dimensioned& a) { return {std::abs(a.value_), a.dimension_, a.adapts_}; }
  friend Dimensioned sqrt(const Dimensioned& a) {
    return {std::sqrt(a.value_), a.dimension_.root(), a.adapts_};
  }
  friend Dimensioned exponential(const Dimensioned& a) { return std::exp(a.bare()); }
  friend Dimensioned logarithm(const Dimensioned& a) { return std::log(a.bare()); }
  friend Dimensioned sine(const Dimensioned& a) { return std::sin(a.bare()); }
  friend Dimensioned cosine(const Dimensioned& a) { return std::cos(a.bare()); }
  friend models::SineCosine<Dimensioned> sine_cosine(const Dimensioned& a) { return {sine(a), cosine(a)}; }
  friend Dimensioned arc_sine(const Dimensioned& a) { return std::asin(a.bare()); }
  friend Dimensioned arc_cosine(const Dimensioned& a) { return std::acos(a.bare()); }

 private:
  Dimensioned(double value, Dimension dimension, bool adapts)
      : value_(value), dimension_(dimension), adapts_(adapts) {}

  static Dimension common(const Dimensioned& a, const Dimensioned& b) {
    if (a.adapts_) return b.dimension_;
    if (b.adapts_ || a.dimension_ == b.dimension_) return a.dimension_;
    throw std::domain_error("unlike quantities are added or compared");
  }
  double bare() const {
    if (dimension_ != units::one) throw std::domain_error("a function of numbers is given a quantity");
    return value_;
  }

  double value_ = 0.0;
  Dimension dimension_{};
  bool adapts_ = true;
};

inline Dimensioned operator*(double value, const Dimension& dimension) {
  return {value, dimension};
}

}  // namespace glassbowl::tests
