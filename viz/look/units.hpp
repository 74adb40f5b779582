#pragma once
#include <string>

namespace glassbowl::viz {

/// How a quantity in SI is shown: value * factor + offset, in `unit`.
struct Shown {
  double factor = 1.0, offset = 0.0;
  std::string unit;
  double of(double si) const { return si * factor + offset; }
};

/// Chooses a unit by the channel's own and by how large its values are.
Shown shown_unit(const std::string& unit, double largest);

/// A number with about three figures that mean something.
std::string figures(double value);

/// A step of 1, 2 or 5 times a power of ten that divides `range` into at most `most` pieces.
double nice_step(double range, int most);

}  // namespace glassbowl::viz
