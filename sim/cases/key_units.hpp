#pragma once

#include <string_view>

/// Unit strings with which keys are declared, where the choice carries meaning. Any other UDUNITS string is
/// fine.
namespace glassbowl::sim::units {

/// Angular speed: stored as rad/s, shown as revolutions per minute. "3000 rpm", "3000 1/min", "50 Hz",
/// "314 rad/s" are all accepted, a bare frequency counting revolutions.
inline constexpr std::string_view revolutions_per_minute = "rpm";
/// A frequency that is not a rotation: stored as 1/s.
inline constexpr std::string_view frequency = "Hz";
/// Angle of crank, plate or screw: stored as rad. A plain ratio or percentage is refused.
inline constexpr std::string_view angle = "deg";
/// Absolute temperature: stored as K; degC, degF, K and degR are accepted.
inline constexpr std::string_view temperature = "degC";
/// Temperature difference: stored as K; units with an offset zero (degC, degF) are refused.
inline constexpr std::string_view temperature_difference = "K";
/// A fraction shown as percentage: stored as fraction; a bare number is refused, since 25 could mean either.
inline constexpr std::string_view percent = "%";
/// A pure number: bare numbers are accepted, and percentages.
inline constexpr std::string_view one = "1";

}  // namespace glassbowl::sim::units
