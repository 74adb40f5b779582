#include "viz/start/recent.hpp"

#include <algorithm>
#include <cstdlib>
#include <fstream>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"

namespace glassbowl::viz {
namespace {

namespace fs = std::filesystem;
constexpr std::size_t most = 8;

/// Where the XDG Base Directory Specification puts what a program remembers.
fs::path list_file() {
  if (const char* state = std::getenv("XDG_STATE_HOME"); state != nullptr && *state == '/')
    return fs::path(state) / "glassbowl" / "recent";
  const char* home = std::getenv("HOME");
  return home != nullptr ? fs::path(home) / ".local/state/glassbowl/recent" : fs::path();
}

}  // namespace

std::vector<std::string> recent_files() {
  std::vector<std::string> out;
  std::error_code ignored;
  const fs::path file = list_file();
  if (!fs::is_regular_file(file, ignored)) return out;  // a pipe would be waited for
  std::ifstream list(file);
  for (std::string line; std::getline(list, line) && out.size() < most;)
    if (fs::exists(line, ignored)) out.push_back(line);
  return out;
}

void remember_file(const fs::path& file) {
  const fs::path list = list_file();
  std::error_code failure;
  const std::string name = fs::absolute(file, failure).string();
  if (list.empty() || failure || name.find('\n') != std::string::npos) return;  // a line for each
  auto names = recent_files();
  std::erase(names, name);
  names.insert(names.begin(), name);
  names.resize(std::min(names.size(), most));
  fs::create_directories(list.parent_path(), failure);
  std::string text;
  for (const auto& each : names) text += each + "\n";
  try {
    sim::write_new_file(list, true, text);
  } catch (const sim::Error&) {  // NOLINT: who opens a file did not ask for the list
  }
}

}  // namespace glassbowl::viz
