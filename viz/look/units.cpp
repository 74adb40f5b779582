#include "viz/look/units.hpp"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

namespace glassbowl::viz {

Shown shown_unit(const std::string& unit, double largest) {
  if (unit == "Pa") return {1e-3, 0.0, "kPa"};
  if (unit == "rad/s") return {30.0 / std::numbers::pi, 0.0, "rpm"};
  if (unit == "rad") return {180.0 / std::numbers::pi, 0.0, "°"};
  if (unit == "K") return {1.0, -273.15, "°C"};
  if (unit == "m") return largest < 1.0 ? Shown{1e3, 0.0, "mm"} : Shown{1.0, 0.0, "m"};
  if (unit == "m2") return {1e6, 0.0, "mm²"};
  if (unit == "m3") return {1e6, 0.0, "cm³"};
  if (unit == "kg/s") return largest < 2e-3 ? Shown{1e6, 0.0, "mg/s"} : Shown{1e3, 0.0, "g/s"};
  if (unit == "kg") return largest < 2e-3 ? Shown{1e6, 0.0, "mg"} : Shown{1e3, 0.0, "g"};
  if (unit == "1") return {1.0, 0.0, ""};
  return {1.0, 0.0, unit};
}

std::string figures(double value) {
  if (!std::isfinite(value)) return "no value";
  const double size = std::abs(value);
  if (size >= 100.0 || size == 0.0) return fmt::format("{:.0f}", value);
  if (size >= 10.0) return fmt::format("{:.1f}", value);
  if (size >= 0.01) return fmt::format("{:.2f}", value);
  return size >= 1e-4 ? fmt::format("{:.2g}", value) : "0";
}

double nice_step(double range, int most) {
  const double rough = range / std::max(1, most);
  const double ten = std::pow(10.0, std::floor(std::log10(rough)));
  for (const double factor : {1.0, 2.0, 5.0, 10.0})
    if (factor * ten >= rough * (1.0 - 1e-9)) return factor * ten;
  return 10.0 * ten;
}

}  // namespace glassbowl::viz
