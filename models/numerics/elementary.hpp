#pragma once
#include <bit>
#include <cstdint>

#include "models/numerics/select.hpp"

/// Elementary functions in one text for a single value and for lanes: plain arithmetic without calls or
/// tables, so that a lane computes to the bit what a single value computes. Relative errors over the ranges
/// given (tests/models/numerics): below 2e-15, a few units in the last place, but 5e-12 of the exponential
/// and 2e-11 of the logarithm, which stand in every evaluation and serve laws known to a percent. In single
/// precision some units in its last place, 6e-8.
/// Source  argument reductions after Cody & Waite, Software Manual for the Elementary Functions, 1980;
/// polynomials are the Taylor series, cut near rounding; those of exponential, logarithm and arc are
/// Chebyshev fits of our own.
namespace glassbowl::models {

/// A value's bit pattern, as a whole number that wraps around: the logarithm of what a trial step took below
/// zero means nothing, but must not overflow. `Word` is such a number without sign or a register of them,
/// `Signed` the same with sign, `Element` one of them, and `Answer` a yes or no for each.
template <class Word, class Signed, class Element, class Answer>
struct BitPattern {
  Word word;
  friend constexpr BitPattern operator+(BitPattern a, BitPattern b) { return {a.word + b.word}; }
  friend constexpr BitPattern operator-(BitPattern a, BitPattern b) { return {a.word - b.word}; }
  friend constexpr BitPattern operator+(BitPattern a, Element b) { return {a.word + b}; }
  friend constexpr BitPattern operator-(BitPattern a, Element b) { return {a.word - b}; }
  friend constexpr BitPattern operator<<(BitPattern a, int b) { return {a.word << b}; }
  /// Keeps the sign.
  friend constexpr BitPattern operator>>(BitPattern a, int b) {
    return {std::bit_cast<Word>(std::bit_cast<Signed>(a.word) >> b)};
  }
  friend constexpr BitPattern operator&(BitPattern a, Element b) { return {a.word & b}; }
  friend constexpr Answer operator!=(BitPattern a, Element b) { return Answer{a.word != b}; }
};

using Bits = BitPattern<std::uint64_t, std::int64_t, std::uint64_t, bool>;
constexpr Bits bits_of(double x) {
  return {std::bit_cast<std::uint64_t>(x)};
}
constexpr double from_bits(Bits bits) {
  return std::bit_cast<double>(bits.word);
}

namespace elementary {

/// Numbers of IEEE 754, and what of the reductions must suit their length.
struct DoublePrecision {
  static constexpr double whole = 6755399441055744.0;  // added, it leaves a whole number in the low bits of
                                                       // the sum; |x| < 2^50
  static constexpr int fraction_bits = 52, bias = 1023;
  static constexpr double largest_exponent = 708.0;
  static constexpr std::uint64_t half_root = 0x3fe6a09e667f3bcd;  // bits of √½
  static constexpr double quarter_turn[] = {1.5707963267341256, 6.0771005063039e-11, 2.0222662487959506e-21};
};
struct SinglePrecision {
  static constexpr double whole = 12582912.0;  // |x| < 2^21
  static constexpr int fraction_bits = 23, bias = 127;
  static constexpr double largest_exponent = 87.0;
  static constexpr std::uint32_t half_root = 0x3f3504f3;
  static constexpr double quarter_turn[] = {1.5703125, 4.837512969970703e-4, 7.549789948768648e-8};
};

/// What the values of a type are; other types say so beside themselves.
template <class Real>
struct PrecisionOf {
  using type = DoublePrecision;
};
template <class Real>
using Precision = typename PrecisionOf<Real>::type;

}  // namespace elementary

/// Nearest whole number.
template <class Real>
Real nearest(Real x) {
  constexpr double whole = elementary::Precision<Real>::whole;
  return (x + whole) - whole;
}

/// Greatest whole number not above x.
template <class Real>
Real whole_below(Real x) {
  const Real n = nearest(x);
  return select(n > x, n - 1.0, n);
}

/// e^x for |x| < 708 (87 in single precision); held beyond.
template <class Real>
Real exponential(Real x) {
  using P = elementary::Precision<Real>;
  // In this order no number stays none.
  x = min(Real(P::largest_exponent), max(Real(-P::largest_exponent), x));
  const Real k = x * 1.4426950408889634 + P::whole;
  const Real n = k - P::whole;
  const Real r = (x - n * 6.93145751953125e-1) - n * 1.42860682030941723212e-6;
  const Real r2 = r * r, r4 = r2 * r2;
  const Real a = (1.0 + r) + (0.5 + r * 0.16666666719028935) * r2;
  const Real b = (0.041666666719012268 + r * 0.0083332984698005598) +
                 (0.0013888854035665244 + r * 0.00019899285575902765) * r2;
  const Real power = from_bits((bits_of(k) + P::bias) << P::fraction_bits);
  return (a + (b + r4 * 2.4859589835284354e-05) * r4) * power;
}

/// ln x for normal x > 0.
template <class Real>
Real logarithm(Real x) {
  // x = 2^n f with f within √½ .. √2: the bias is chosen so that the exponent turns over at √½.
  using P = elementary::Precision<Real>;
  const auto n = (bits_of(x) - P::half_root) >> P::fraction_bits;
  const Real f = from_bits(bits_of(x) - (n << P::fraction_bits));
  const Real exponent = from_bits(n + bits_of(Real(P::whole))) - P::whole;
  // ln(1 + u) = u - u²/2 + u³ P(u), without a division.
  const Real u = f - 1.0, u2 = u * u, u4 = u2 * u2;
  const Real a = (0.33333333337491099 + u * -0.25000000267154873) +
                 (0.19999997848702808 + u * -0.16666611733566609) * u2;
  const Real b = (0.14285860677820799 + u * -0.12503219754399107) +
                 (0.11109481863252371 + u * -0.099228381670653471) * u2;
  const Real c = (0.090310072152932027 + u * -0.091099775015403254) +
                 (0.090369180867169827 + u * -0.050057398609641111) * u2;
  const Real small = u2 * (u * (a + (b + c * u4) * u4) - 0.5);
  return exponent * 6.93145751953125e-1 + (u + (small + exponent * 1.42860682030941723212e-6));
}

template <class Real>
struct SineCosine {
  Real sine, cosine;
};

/// sin x and cos x for |x| < 1e5 (100 in single precision); the error is 2e-15 of one.
template <class Real>
SineCosine<Real> sine_cosine(Real x) {
  using P = elementary::Precision<Real>;
  const Real k = x * 0.63661977236758134308 + P::whole;
  const Real n = k - P::whole;
  const Real r = ((x - n * P::quarter_turn[0]) - n * P::quarter_turn[1]) - n * P::quarter_turn[2];
  const Real t = r * r, t2 = t * t, t4 = t2 * t2;
  const Real s = (-1.0 / 6.0 + t * (1.0 / 120.0)) + (-1.0 / 5040.0 + t * (1.0 / 362880.0)) * t2 +
                 ((-1.0 / 39916800.0 + t * (1.0 / 6227020800.0)) - t2 * (1.0 / 1307674368000.0)) * t4;
  const Real c = (1.0 / 24.0 + t * (-1.0 / 720.0)) + (1.0 / 40320.0 + t * (-1.0 / 3628800.0)) * t2 +
                 ((1.0 / 479001600.0 + t * (-1.0 / 87178291200.0)) + t2 * (1.0 / 20922789888000.0)) * t4;
  const Real sine = r + r * t * s;
  const Real cosine = (1.0 - 0.5 * t) + t2 * c;
  const auto quadrant = bits_of(k);
  const auto odd = (quadrant & 1) != 0;
  const Real a = select(odd, cosine, sine), b = select(odd, sine, cosine);
  return {select((quadrant & 2) != 0, -a, a), select(((quadrant + 1) & 2) != 0, -b, b)};
}

/// sin πs for 0 <= s <= 1, zero at both ends and one between them; the error is 1e-13 of one. From
/// cos πc = (1 - 4c²)(1 + c² Q(c²)) about the middle, Q a Chebyshev fit.
template <class Real>
Real half_wave(Real s) {
  const Real c = s - 0.5;
  const Real t = c * c, t2 = t * t, t4 = t2 * t2;
  const Real q = ((-0.93480220054455514 + t * 0.31950332420228634) +
                  (-0.057249470232389129 + t * 0.0063327142136687387) * t2) +
                 (-0.00047569975248551444 + t * 2.5104377691320678e-05) * t4;
  return (1.0 - 4.0 * t) * (1.0 + t * q);
}

template <class Real>
Real sine(Real x) {
  return sine_cosine(x).sine;
}
template <class Real>
Real cosine(Real x) {
  return sine_cosine(x).cosine;
}

/// arcsin x for |x| <= 1.
template <class Real>
Real arc_sine(Real x) {
  using std::sqrt;
  // arcsin x = π/2 - 2 arcsin √((1 - x)/2) brings the upper half of the range below ½.
  const Real size = absolute(x);
  const auto upper = size > 0.5;
  const Real t = select(upper, 0.5 * (1.0 - size), x * x);
  const Real root = select(upper, sqrt(positive_part(t)), size);
  const Real t2 = t * t, t4 = t2 * t2;
  const Real a = (0.1666666666666494118 + t * 0.07500000000385201673) +
                 (0.04464285680599893842 + t * 0.03038195969768513823) * t2;
  const Real b = (0.02237174973316405413 + t * 0.01735977964134998007) +
                 (0.01388484282640208075 + t * 0.01217013859239172629) * t2;
  const Real c = (0.006529302004736569282 + t * 0.019513468251252168) +
                 (-0.01618739227159913321 + t * 0.03187962140081283943) * t2;
  const Real arc = root + root * t * (a + (b + c * t4) * t4);
  const Real whole_arc = select(upper, 1.57079632679489661923 - 2.0 * arc, arc);
  return select(x < 0.0, -whole_arc, whole_arc);
}

template <class Real>
Real arc_cosine(Real x) {
  return 1.57079632679489661923 - arc_sine(x);
}

/// x^y for x > 0.
template <class Real>
Real power(Real x, Real y) {
  return exponential(y * logarithm(x));
}

}  // namespace glassbowl::models
