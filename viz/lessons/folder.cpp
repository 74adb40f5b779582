#include "viz/lessons/folder.hpp"

namespace glassbowl::viz {

std::filesystem::path lesson_folder() {
  std::error_code ignored;
  const std::filesystem::path source = GLASSBOWL_SOURCE_LESSONS;
  return std::filesystem::is_directory(source, ignored) ? source
                                                        : std::filesystem::path(GLASSBOWL_INSTALLED_LESSONS);
}

}  // namespace glassbowl::viz
