#pragma once

#include <fcntl.h>
#include <sys/wait.h>
#include <unistd.h>

#include <fstream>
#include <sstream>
#include <string>
#include <vector>

#include "tests/sim/cases/case_folder.hpp"

namespace glassbowl::sim {

inline std::string text_in(const std::filesystem::path& file) {
  std::ostringstream out;
  out << std::ifstream(file, std::ios::binary).rdbuf();
  return out.str();
}

/// Starts the built program in `folder`, its output going to the files out and err there.
inline pid_t start_program(const CaseFolder& folder, const std::vector<std::string>& arguments) {
  const pid_t child = fork();
  if (child != 0) return child;
  const auto into = [](const std::filesystem::path& file, int descriptor) {
    dup2(open(file.c_str(), O_CREAT | O_TRUNC | O_WRONLY, 0600), descriptor);
  };
  std::vector<std::string> words{GLASSBOWL_PROGRAM};
  words.insert(words.end(), arguments.begin(), arguments.end());
  std::vector<char*> argv;
  for (auto& word : words) argv.push_back(word.data());
  argv.push_back(nullptr);
  if (chdir((folder / "").c_str()) != 0) _exit(126);
  into(folder / "out", STDOUT_FILENO);
  into(folder / "err", STDERR_FILENO);
  execv(GLASSBOWL_PROGRAM, argv.data());
  _exit(127);
}

inline int code_of(pid_t child) {
  int status = 0;
  waitpid(child, &status, 0);
  return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
}

struct Outcome {
  int code;
  std::string out, err;
};

/// Runs it to its end.
inline Outcome run_program(const CaseFolder& folder, const std::vector<std::string>& arguments) {
  const int code = code_of(start_program(folder, arguments));
  return {code, text_in(folder / "out"), text_in(folder / "err")};
}

}  // namespace glassbowl::sim
