#pragma once
#include <string>
#include <vector>

namespace glassbowl::sim {

/// Libraries that the program was built with, each with its version; HDF5 as it is loaded. UDUNITS-2 does not
/// say which it is.
std::vector<std::string> library_versions();

}  // namespace glassbowl::sim
