#include "sim/api/own_folder.hpp"

#include <fmt/format.h>

#include <cerrno>
#include <cstdlib>
#include <string>
#include <system_error>

#include "sim/api/error.hpp"

namespace glassbowl::sim {

namespace fs = std::filesystem;

OwnFolder::OwnFolder() {
  const auto fail = [](const std::string& why) {
    throw Error(ErrorKind::file,
                fmt::format("no temporary folder can be made: {}; TMPDIR names the place for it", why));
  };
  std::error_code failure;
  const fs::path place = fs::temp_directory_path(failure);
  if (failure) fail(failure.message());
  std::string name = (fs::absolute(place) / "glassbowl-XXXXXX").string();
  if (mkdtemp(name.data()) == nullptr) fail(name + ": " + std::generic_category().message(errno));
  path_ = name;
}

OwnFolder::~OwnFolder() {
  std::error_code ignored;
  fs::remove_all(path_, ignored);
}

}  // namespace glassbowl::sim
