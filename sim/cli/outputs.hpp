#pragma once
#include <filesystem>
#include <vector>

namespace glassbowl::sim {

/// Refuses, whatever --force says, to write over what a command reads: a case or trace of the user's own.
/// Throws Error{input} that names the file.
void refuse_own_input(const std::vector<std::filesystem::path>& outputs,
                      const std::vector<std::filesystem::path>& inputs);

}  // namespace glassbowl::sim
