#pragma once
#include <array>
#include <string>
#include <string_view>
#include <utility>

#include "sim/api/channel.hpp"

/// What the Climate and Forecast conventions (CF-1.10) have for channels: few standard names fit an engine.
/// Their table gives altitude in m, air_pressure in Pa and air_temperature in K (from memory).
namespace glassbowl::sim {

/// Ends the meaning of a channel that is a mean over the engine cycle.
inline constexpr std::string_view cycle_mean = ", mean over the cycle";

/// Empty where the conventions have none.
inline std::string standard_name(const Channel& channel) {
  constexpr std::array<std::pair<std::string_view, std::string_view>, 3> names{{
      {"altitude", "altitude"},
      {"ambient_pressure", "air_pressure"},
      {"ambient_temperature", "air_temperature"},
  }};
  for (const auto& [own, standard] : names)
    if (channel.name == own) return std::string(standard);
  return {};
}

/// Empty for values at an instant.
inline std::string cell_methods(const Channel& channel) {
  return channel.long_name.ends_with(cycle_mean) ? "time: mean (comment: over the engine cycle)" : "";
}

}  // namespace glassbowl::sim
