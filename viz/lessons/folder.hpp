#pragma once
#include <filesystem>
#include <string>

namespace glassbowl::viz {

/// Where the lessons lie: in the source tree if it is there, else where they are installed.
std::filesystem::path lesson_folder();

/// File of a lesson that is named as in the folder, or as a file.
/// Errors   sim::Error{input} with the names that there are.
std::filesystem::path find_lesson(const std::string& given);

}  // namespace glassbowl::viz
