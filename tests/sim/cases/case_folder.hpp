#pragma once

#include <unistd.h>

#include <filesystem>
#include <fstream>
#include <stdexcept>
#include <string>

namespace glassbowl::sim {

/// A folder of case files for one test, gone at its end. It lies two levels down, so that nothing of a test
/// escapes into the common temporary folder.
class CaseFolder {
 public:
  CaseFolder() {
    std::string pattern = (std::filesystem::temp_directory_path() / "glassbowl_cases_XXXXXX").string();
    if (mkdtemp(pattern.data()) == nullptr) throw std::runtime_error("no temporary folder");
    outer_ = std::filesystem::canonical(pattern);
    std::filesystem::create_directory(outer_ / "home");
  }
  ~CaseFolder() {
    std::error_code ignored;
    std::filesystem::remove_all(outer_, ignored);
  }
  CaseFolder(const CaseFolder&) = delete;
  CaseFolder& operator=(const CaseFolder&) = delete;

  std::filesystem::path operator/(const std::string& path) const { return outer_ / "home" / path; }

  /// Writes a file, with its folders, and gives its path.
  std::filesystem::path write(const std::string& path, const std::string& text) const {
    const std::filesystem::path file = *this / path;
    std::filesystem::create_directories(file.parent_path());
    std::ofstream(file, std::ios::binary) << text;
    return file;
  }

 private:
  std::filesystem::path outer_;
};

}  // namespace glassbowl::sim
