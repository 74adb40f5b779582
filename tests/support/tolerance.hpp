#pragma once
#include <catch2/catch.hpp>
#include <cmath>
#include <cstdlib>
#include <limits>
#include <sstream>
#include <string>
#include <utility>

/// Tolerances built from their reason. GLASSBOWL_TOLERANCE_SCALE in the environment multiplies all of
/// them; 0 makes every difference fail and so shows it.
namespace glassbowl::tests {

struct Tolerance {
  double relative;  ///< of the expected value
  double absolute;  ///< in its unit
  std::string reason;
};

/// Rounding of so many operations on terms not larger than `size`; 0: no larger than the result.
inline Tolerance round_off(int operations, double size = 0.0) {
  const double each = operations * std::numeric_limits<double>::epsilon();
  return {each, each * size, "rounding"};
}
/// A relative error that the part's header states, or that follows from what the reason names.
inline Tolerance relative(double size, std::string reason) {
  return {size, 0.0, std::move(reason)};
}
inline Tolerance absolute_error(double size, std::string reason) {
  return {0.0, size, std::move(reason)};
}

inline double tolerance_scale() {
  const char* text = std::getenv("GLASSBOWL_TOLERANCE_SCALE");
  return text ? std::atof(text) : 1.0;
}
inline bool holds(double value, double expected, const Tolerance& t) {
  return std::abs(value - expected) <= tolerance_scale() * (t.relative * std::abs(expected) + t.absolute);
}

/// Matcher for CHECK_THAT(value, near(expected, tolerance)). NaN never matches.
class Near : public Catch::MatcherBase<double> {
 public:
  Near(double expected, Tolerance tolerance) : expected_(expected), tolerance_(std::move(tolerance)) {}
  bool match(const double& value) const override { return holds(value, expected_, tolerance_); }
  std::string describe() const override {
    std::ostringstream text;
    text.precision(16);
    text << "is near " << expected_ << " (relative " << tolerance_.relative << ", absolute "
         << tolerance_.absolute << ": " << tolerance_.reason << ")";
    return text.str();
  }

 private:
  double expected_;
  Tolerance tolerance_;
};
inline Near near(double expected, Tolerance tolerance) {
  return {expected, std::move(tolerance)};
}

}  // namespace glassbowl::tests
