#pragma once
#include <filesystem>
#include <string>
#include <vector>

namespace glassbowl::viz {

/// Files that were opened last, newest first, kept in the user's state folder.
std::vector<std::string> recent_files();
void remember_file(const std::filesystem::path& file);

}  // namespace glassbowl::viz
