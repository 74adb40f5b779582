#pragma once
#include <filesystem>

namespace glassbowl::viz {

/// Where the lessons lie: in the source tree if it is there, else where they are installed.
std::filesystem::path lesson_folder();

}  // namespace glassbowl::viz
