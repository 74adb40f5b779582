#include "sim/report/run_program.hpp"

#include <fmt/format.h>
#include <spawn.h>
#include <sys/mman.h>
#include <sys/wait.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <cstdlib>
#include <filesystem>
#include <sstream>
#include <system_error>

#include "sim/api/error.hpp"
#include "sim/output/disk_file.hpp"

extern char** environ;

namespace glassbowl::sim {
namespace {

[[noreturn]] void fail(const std::string& program, int error) {
  throw Error(ErrorKind::file,
              fmt::format("{} cannot be run: {}", program, std::generic_category().message(error)));
}

/// A file in memory: a program can neither block on it nor lead it elsewhere.
DiskFile in_memory(const std::string& program) {
  const int descriptor = ::memfd_create("glassbowl", MFD_CLOEXEC);
  if (descriptor < 0) fail(program, errno);
  return DiskFile::of(descriptor);
}

std::string text_of(const DiskFile& file) {
  std::string text(file.size(), '\0');
  file.read_at(text.data(), text.size(), 0);
  return text;
}

}  // namespace

bool on_path(const char* program) {
  const char* path = std::getenv("PATH");
  std::istringstream folders(path != nullptr ? path : "");
  for (std::string folder; std::getline(folders, folder, ':');)
    if (::access((std::filesystem::path(folder) / program).c_str(), X_OK) == 0) return true;
  return false;
}

ProgramEnd run_program(const std::vector<std::string>& words, std::string_view input) try {
  std::array<DiskFile, 3> streams{in_memory(words.front()), in_memory(words.front()),
                                  in_memory(words.front())};
  streams[0].write_at(input.data(), input.size(), 0);
  std::vector<std::string> texts = words;
  std::vector<char*> call;
  for (auto& text : texts) call.push_back(text.data());
  call.push_back(nullptr);

  posix_spawn_file_actions_t actions;
  posix_spawn_file_actions_init(&actions);
  for (int i = 0; i < 3; ++i)
    posix_spawn_file_actions_adddup2(&actions, streams[static_cast<std::size_t>(i)].descriptor(), i);
  pid_t process = -1;
  const int failure = ::posix_spawnp(&process, call[0], &actions, nullptr, call.data(), environ);
  posix_spawn_file_actions_destroy(&actions);
  if (failure != 0) fail(words.front(), failure);
  int status = 0;
  while (::waitpid(process, &status, 0) < 0)
    if (errno != EINTR) fail(words.front(), errno);
  return {WIFEXITED(status) ? WEXITSTATUS(status) : -1, text_of(streams[1]), text_of(streams[2])};
} catch (const std::system_error& failure) {
  fail(words.front(), failure.code().value());
}

}  // namespace glassbowl::sim
