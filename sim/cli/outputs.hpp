#pragma once
#include <filesystem>
#include <string>
#include <vector>

namespace glassbowl::sim {

/// Every file behind what a user names: a trace, or a case and the bases that it is made of.
std::vector<std::filesystem::path> files_of(const std::string& given);

/// Refuses, whatever --force says, to write over what a command reads: a case or trace of the user's own.
/// Throws Error{input} that names the file.
void refuse_own_input(const std::vector<std::filesystem::path>& outputs,
                      const std::vector<std::filesystem::path>& inputs);

}  // namespace glassbowl::sim
