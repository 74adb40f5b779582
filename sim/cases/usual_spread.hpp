#pragma once
#include "sim/cases/spread.hpp"

/// How well sizes of each kind are usually known by one who has read them from the part, a manual or a rule,
/// as half of a 95 % range. Stated beside each key that it belongs to. Common practice, no published source,
/// where nothing else is said; a value that nobody gave, a default, is taken to be known half as well.
namespace glassbowl::sim::usual {

/// A share of the value.
inline Spread share(double percent, const char* reason) {
  return {0.01 * percent, true, reason};
}

/// In the SI unit of the key.
inline Spread within(double half_width, const char* reason) {
  return {half_width, false, reason};
}

inline Spread drilled_jet() {
  return share(1.5, "a drilled jet");
}
inline Spread flow_rated_jet() {
  return share(3, "a jet by its flow, which goes with its bore squared");
}
inline Spread small_hole() {
  return share(3, "a small drilled hole");
}
inline Spread turned_bore() {
  return share(0.5, "a turned or ground bore");
}
inline Spread coefficient() {
  return share(5, "a discharge coefficient");
}
inline Spread cast_volume() {
  return share(15, "a cast volume");
}
inline Spread fuel_level() {
  return within(0.7e-3, "a fuel level or float height");
}
inline Spread measured_length() {
  return share(3, "a length by ruler");
}
inline Spread tube_bore() {
  return share(2, "the bore of a tube");
}
inline Spread valve_timing() {
  return within(3.0 * 0.017453292519943295, "valve timing by a degree wheel");
}
inline Spread wall_temperature() {
  return within(15.0, "a wall's temperature");
}
inline Spread heat_transfer() {
  return share(40, "a heat transfer that nobody measures");
}

}  // namespace glassbowl::sim::usual
