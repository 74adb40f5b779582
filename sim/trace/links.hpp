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

/// What comes from a stranger leads nowhere else: throws Hdf5Failure for a dataset whose values lie in
/// another file. To be called before any is read.
void refuse_elsewhere(hid_t dataset, const std::string& name);

}  // namespace glassbowl::sim
