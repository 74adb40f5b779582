#pragma once

#include <cstddef>
#include <string>
#include <vector>

#include "sim/trace/hdf5.hpp"

namespace glassbowl::sim {

/// Dimension scales say along what a dataset's values lie (HDF5 Dimension Scale Specification, 1.0). Read
/// here and not by the library's own calls: those take the sizes of a damaged file's attributes for granted,
/// and write beyond their buffers.

bool is_scale(hid_t object);
/// Name of the first scale along a dimension; empty if there is none.
std::string scale_along(hid_t dataset, std::size_t dimension);

/// Names the first dataset as the scale of all others, which have one dimension. The library's own call does
/// so for one at a time, reading and writing the scale's whole list anew: a third of what laying out took.
void attach_to_first(const std::vector<Hdf5Handle>& datasets);

}  // namespace glassbowl::sim
