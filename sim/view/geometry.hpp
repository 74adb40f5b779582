#pragma once
#include "sim/api/geometry.hpp"
#include "sim/network/bike.hpp"

namespace glassbowl::sim {

/// The same from a bike that has been read already.
Geometry geometry_of(const Bike<double>& bike);

}  // namespace glassbowl::sim
