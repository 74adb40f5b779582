#pragma once

#include <string>
#include <vector>

#include "sim/trace/hdf5.hpp"

namespace glassbowl::sim {

/// Names of what lies in the file itself, in the order in which it was put there, or by name where a tool has
/// kept no order. Links by name are passed over, as they may lead into another file.
std::vector<std::string> names_in(hid_t file);

/// Whether there is such a name, and it is no link by name.
bool lies_in(hid_t file, const char* name);

/// Opens what `name` stands for. What comes from a stranger leads nowhere else: throws Hdf5Failure for a link
/// by name, and for a dataset whose values lie in another file. Even to ask such a dataset for its extent
/// would open that file, which may be a pipe.
Hdf5Handle open_here(hid_t file, const std::string& name);

}  // namespace glassbowl::sim
