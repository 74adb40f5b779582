#pragma once

#include <string>
#include <vector>

#include "sim/trace/hdf5.hpp"

namespace glassbowl::sim {

/// Names of what lies in the file itself, in the order in which it was put there, or by name where a tool has
/// kept no order. A link into another file is passed over: what comes from a stranger leads nowhere else.
std::vector<std::string> names_in(hid_t file);

/// Whether there is such a name, and it is none of another file.
bool lies_in(hid_t file, const char* name);

}  // namespace glassbowl::sim
