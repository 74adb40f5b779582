#pragma once
#include <string_view>

namespace glassbowl::sim {

/// Version of the program, as traces keep it.
std::string_view program_version();

}  // namespace glassbowl::sim
