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
  std::error_code failure;
  std::string name = (fs::absolute(fs::temp_directory_path(failure)) / "glassbowl-XXXXXX").string();
  if (failure || mkdtemp(name.data()) == nullptr)
    throw Error(ErrorKind::file,
                fmt::format("{}: no temporary folder can be made: {}; TMPDIR names another place", name,
                            failure ? failure.message() : std::generic_category().message(errno)));
  path_ = name;
}

OwnFolder::~OwnFolder() {
  std::error_code ignored;
  fs::remove_all(path_, ignored);
}

}  // namespace glassbowl::sim
