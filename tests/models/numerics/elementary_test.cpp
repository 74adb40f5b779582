#include "models/numerics/single.hpp"  // before the functions that take it
//
#include "models/numerics/elementary.hpp"

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "models/constants.hpp"
#include "tests/support/random.hpp"
#include "tests/support/tolerance.hpp"

using namespace glassbowl::models;
using namespace glassbowl::tests;

namespace {

/// Largest error over many points, relative to the size of the true value or to `floor`.
template <class F, class G, class X>
double largest(int points, F&& ours, G&& theirs, X&& x, double floor = 0.0) {
  double out = 0.0;
  for (int i = 0; i < points; ++i) {
    const double at = x(i / double(points - 1));
    const double exact = theirs(at);
    out = std::max(out, std::abs(ours(at) - exact) / std::max(std::abs(exact), floor));
  }
  return out;
}

}  // namespace

// Reference: the mathematical library of the C++ implementation, itself within one unit in the last place.
TEST_CASE("elementary: functions agree with the standard library's to the errors stated",
          "[models][numerics][exact]") {
  const auto claim = absolute_error(2e-15, "stated in the header");
  const auto exponential_claim = absolute_error(5e-12, "stated in the header");
  const auto logarithm_claim = absolute_error(2e-11, "stated in the header");
  CHECK_THAT(largest(
                 200000, [](double x) { return exponential(x); }, [](double x) { return std::exp(x); },
                 [](double s) { return -700.0 + 1400.0 * s; }),
             near(0.0, exponential_claim));
  CHECK_THAT(largest(
                 200000, [](double x) { return logarithm(x); }, [](double x) { return std::log(x); },
                 [](double s) { return std::pow(10.0, -300.0 + 600.0 * s); }),
             near(0.0, logarithm_claim));
  CHECK_THAT(largest(
                 200000, [](double x) { return logarithm(x); }, [](double x) { return std::log(x); },
                 [](double s) { return 0.4 + 2.0 * s; }),
             near(0.0, logarithm_claim));
  CHECK_THAT(largest(
                 200000, [](double x) { return sine(x); }, [](double x) { return std::sin(x); },
                 [](double s) { return -1e3 + 2e3 * s; }, 1.0),
             near(0.0, claim));
  CHECK_THAT(largest(
                 200000, [](double x) { return cosine(x); }, [](double x) { return std::cos(x); },
                 [](double s) { return -1e5 + 2e5 * s; }, 1.0),
             near(0.0, claim));
  CHECK_THAT(largest(
                 200000, [](double x) { return half_wave(x); },
                 [](double x) { return std::sin(constants::pi * x); }, [](double s) { return s; }, 1.0),
             near(0.0, absolute_error(1e-13, "stated in the header")));
  CHECK_THAT(largest(
                 200000, [](double x) { return arc_sine(x); }, [](double x) { return std::asin(x); },
                 [](double s) { return -1.0 + 2.0 * s; }),
             near(0.0, claim));
  CHECK_THAT(largest(
                 200000, [](double x) { return arc_cosine(x); }, [](double x) { return std::acos(x); },
                 [](double s) { return -1.0 + 2.0 * s; }, 1.0),
             near(0.0, claim));
}

TEST_CASE("elementary: in single precision they agree to some units of its last place",
          "[models][numerics][exact]") {
  const auto claim = absolute_error(3e-7, "five units in the last place");
  const auto single = [](auto f) { return [f](double x) { return widen(f(Single(x))); }; };
  const auto exact = [](auto f) {
    return [f](double x) { return f(widen(Single(x))); };
  };  // of what it is given
  const auto range = [](double from, double to) {
    return [from, to](double s) { return from + (to - from) * s; };
  };
  const auto exp = [](double x) { return std::exp(x); };
  const auto log = [](double x) { return std::log(x); };
  const auto sin = [](double x) { return std::sin(x); };
  const auto cos = [](double x) { return std::cos(x); };
  const auto asin = [](double x) { return std::asin(x); };
  const auto wave = [](double x) { return std::sin(constants::pi * x); };
  const auto ours_exp = single([](Single x) { return exponential(x); });
  const auto ours_log = single([](Single x) { return logarithm(x); });
  const auto decades = [](double s) { return std::pow(10.0, -37.0 + 74.0 * s); };
  CHECK_THAT(largest(100000, ours_exp, exact(exp), range(-86.0, 86.0)), near(0.0, claim));
  CHECK_THAT(largest(100000, ours_log, exact(log), decades), near(0.0, claim));
  CHECK_THAT(largest(100000, ours_log, exact(log), range(0.4, 2.4)), near(0.0, claim));
  CHECK_THAT(largest(100000, single([](Single x) { return sine(x); }), exact(sin), range(-50.0, 50.0), 1.0),
             near(0.0, claim));
  CHECK_THAT(largest(100000, single([](Single x) { return cosine(x); }), exact(cos), range(-50.0, 50.0), 1.0),
             near(0.0, claim));
  CHECK_THAT(largest(100000, single([](Single x) { return arc_sine(x); }), exact(asin), range(-1.0, 1.0)),
             near(0.0, claim));
  CHECK_THAT(
      largest(100000, single([](Single x) { return half_wave(x); }), exact(wave), range(0.0, 1.0), 1.0),
      near(0.0, claim));
  CHECK(std::isfinite(widen(exponential(Single(1e6)))));
  CHECK(std::isnan(widen(exponential(Single(std::nan(""))))));
  for (double x : {-2.5, -2.0, -0.5, 0.0, 0.49999, 0.5, 1.5, 7.0, 1e6 + 0.75})
    CHECK(widen(whole_below(Single(x))) == std::floor(widen(Single(x))));
}

TEST_CASE("elementary: powers lose what their exponent magnifies, no more", "[models][numerics][exact]") {
  CHECK_THAT(largest(
                 100000, [](double x) { return power(x, 5.2559); },
                 [](double x) { return std::pow(x, 5.2559); }, [](double s) { return 0.3 + 2.0 * s; }),
             near(0.0, absolute_error(
                           1e-10, "the exponential's error, and that of the logarithm times the exponent")));
}

TEST_CASE("elementary: ends and held ends", "[models][numerics][limit]") {
  CHECK(exponential(0.0) == 1.0);
  CHECK(std::isfinite(exponential(1e6)));
  CHECK(exponential(-1e6) > 0.0);
  CHECK(logarithm(1.0) == 0.0);
  CHECK(sine(0.0) == 0.0);
  CHECK(cosine(0.0) == 1.0);
  CHECK(half_wave(0.0) == 0.0);
  CHECK(half_wave(0.5) == 1.0);
  CHECK(half_wave(1.0) == 0.0);
  CHECK(arc_sine(-1.0) == -arc_sine(1.0));
  CHECK(std::isnan(exponential(std::nan(""))));
  // Bit patterns wrap around: not a constant expression if they overflowed.
  constexpr std::uint64_t far = 0x3fe6a09e667f3bcd;
  static_assert(from_bits((bits_of(-0.5) - far) + far) == -0.5);
  for (double x : {-2.5, -2.0, -0.5, 0.0, 0.49999, 0.5, 1.5, 7.0, 1e9 + 0.75})
    CHECK(whole_below(x) == std::floor(x));
}
