#include "viz/lessons/folder.hpp"

#include <algorithm>
#include <vector>

#include "sim/api/case.hpp"
#include "sim/api/error.hpp"

namespace glassbowl::viz {

namespace fs = std::filesystem;

fs::path lesson_folder() {
  return sim::shipped_folder() / "lessons";
}

fs::path find_lesson(const std::string& given) {
  std::error_code ignored;
  if (fs::is_regular_file(given, ignored)) return given;
  const fs::path shipped = lesson_folder() / (given + ".toml");
  if (fs::is_regular_file(shipped, ignored)) return shipped;
  std::vector<std::string> names;
  for (const auto& entry : fs::directory_iterator(lesson_folder(), ignored))
    if (entry.path().extension() == ".toml") names.push_back(entry.path().stem().string());
  std::sort(names.begin(), names.end());
  std::string list;
  for (const auto& name : names) list += (list.empty() ? "" : ", ") + name;
  const std::string nearest = sim::nearest_name(given, names);
  throw sim::Error(sim::ErrorKind::input, given + ": neither a file nor one of the lessons: " + list +
                                              (nearest.empty() ? "" : "; did you mean \"" + nearest + "\"?"));
}

}  // namespace glassbowl::viz
