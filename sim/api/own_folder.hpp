#pragma once

#include <filesystem>

namespace glassbowl::sim {

/// A new folder among the temporary ones, under a random name, that only this user can enter; it goes with
/// the object, and all that is in it. Errors  `Error` of kind `file` if none can be made.
class OwnFolder {
 public:
  OwnFolder();
  ~OwnFolder();
  OwnFolder(const OwnFolder&) = delete;
  OwnFolder& operator=(const OwnFolder&) = delete;
  std::filesystem::path operator/(const std::filesystem::path& name) const { return path_ / name; }

 private:
  std::filesystem::path path_;
};

}  // namespace glassbowl::sim
