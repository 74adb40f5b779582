#include "viz/start/recent.hpp"

#include <unistd.h>

#include <algorithm>
#include <cstdlib>
#include <fstream>

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
  std::ifstream list(list_file());
  std::error_code ignored;
  for (std::string line; std::getline(list, line) && out.size() < most;)
    if (fs::exists(line, ignored)) out.push_back(line);
  return out;
}

void remember_file(const fs::path& file) {
  const fs::path list = list_file();
  std::error_code failure;
  const std::string name = fs::absolute(file, failure).string();
  if (list.empty() || failure) return;
  auto names = recent_files();
  std::erase(names, name);
  names.insert(names.begin(), name);
  names.resize(std::min(names.size(), most));
  fs::create_directories(list.parent_path(), failure);
  const fs::path next = list.string() + "." + std::to_string(getpid());
  {
    std::ofstream out(next);
    for (const auto& each : names) out << each << "\n";
    if (!out) return;
  }
  fs::rename(next, list, failure);
  if (failure) fs::remove(next, failure);
}

}  // namespace glassbowl::viz
