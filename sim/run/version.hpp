#pragma once
#include <string_view>

namespace glassbowl::sim {

/// Version of the program, as traces keep it.
std::string_view program_version();

/// Digest of all that decides a computed point: sources of physics, solver and case reading, compiler and
/// flags. Made anew by each build in which one of them changed.
std::string_view point_digest();

}  // namespace glassbowl::sim
