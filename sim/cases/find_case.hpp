#pragma once
#include <filesystem>
#include <string>
#include <vector>

namespace glassbowl::sim {

/// A file that comes with the program.
struct ShippedFile {
  std::string name;   ///< without folder and ending
  std::string title;  ///< its title, or its first comment, or empty
  std::filesystem::path path;
};

/// Files of one folder of the shipped cases ("runs", "bikes", ...), by name.
std::vector<ShippedFile> shipped_files(const std::string& folder);

/// The file that a user means: the path as given, or a shipped run of that name, or a shipped file
/// ("bikes/NAME"), each with or without ".toml".
/// Throws Error{input} naming the nearest shipped run or bike.
std::filesystem::path find_case(const std::string& given);

/// Whether this file is a trace rather than a case, by its first bytes.
bool is_trace(const std::filesystem::path& file);

}  // namespace glassbowl::sim
