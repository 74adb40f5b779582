#pragma once

#include <string>
#include <string_view>
#include <vector>

namespace glassbowl::sim {

struct ProgramEnd {
  int code = -1;      ///< exit code; -1 if the program ended by a signal
  std::string out;    ///< its standard output
  std::string error;  ///< its standard error
};

/// Whether the program is installed.
bool on_path(const char* program);

/// Runs another program, without a shell, with `input` as its standard input. What comes from a user goes
/// there or stays here: no name of a file of ours is among `words`, as programs take some names for options
/// or commands. Errors  `Error` of kind `file` when it cannot be started or the input not be handed over.
ProgramEnd run_program(const std::vector<std::string>& words, std::string_view input);

}  // namespace glassbowl::sim
