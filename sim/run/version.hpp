#pragma once
#include <string_view>

namespace glassbowl::sim {

/// Version of the program, as traces keep it.
std::string_view program_version();

/// The commit it was built from, "+" behind it if the tree was changed; empty if it was not built from a git
/// tree.
std::string_view program_commit();

/// Digest of all that decides a computed point: sources of physics, solver and case reading, compiler and
/// flags. Made anew by each build in which one of them changed.
std::string_view point_digest();

}  // namespace glassbowl::sim
