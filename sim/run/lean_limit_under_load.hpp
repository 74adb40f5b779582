#pragma once
#include <algorithm>

#include "models/constants.hpp"
#include "models/engine/crank_geometry.hpp"
#include "models/fluids/atmosphere.hpp"
#include "sim/bike/bike.hpp"

namespace glassbowl::sim {

/// Leanest lambda allowed under load: knock and heat grow with the density of the charge, so the fuller the
/// cylinder, the richer it must run.
///   0.95 at a filling of 0.75 and above, 1.20 at 0.35 and below, straight between
/// Source  that a warm engine may be lean at light load and must be rich from about three quarters of its
///   full air flow on: Heywood 1988, sec. 7.1, from memory. The numbers are common practice.
inline double lean_limit_under_load(double filling) {
  return 0.95 + 0.25 * std::clamp((0.75 - filling) / 0.4, 0.0, 1.0);
}

/// One cylinder's air [kg] over its displacement full of standard air at sea level [-].
inline double filling_of(const Bike<double>& bike, double air) {
  const auto sea = m::standard_atmosphere(0.0);
  const double density = sea.pressure / (m::constants::R_air * sea.temperature);
  return air / (density * m::displacement(bike.engine.crank));
}

}  // namespace glassbowl::sim
