#pragma once
#include "sim/api/drawing_dimensions.hpp"
#include "sim/bike/bike.hpp"

namespace glassbowl::sim {

/// The same from a bike that has been read already.
DrawingDimensions drawing_dimensions_of(const Bike<double>& bike);

}  // namespace glassbowl::sim
