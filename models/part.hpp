#pragma once
#include <concepts>
#include <string_view>

namespace glassbowl::models {

/// A state of a part: its name inside the part, SI unit, meaning, and the size at which it matters.
/// `nominal` scales error tolerances, so that pascals, kilograms and radians share one norm.
/// `lower` is a physical bound (a mass is not negative); a state that passes it is reported, never clipped.
struct Slot {
  std::string_view name;
  std::string_view unit;
  std::string_view long_name;
  double nominal;
  double lower;
};

}  // namespace glassbowl::models
