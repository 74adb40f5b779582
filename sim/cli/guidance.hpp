#pragma once
#include <string>

namespace CLI {
class App;
}

/// What the program says to those who do not know its commands yet.
namespace glassbowl::sim {

/// Six jobs, each with its command.
std::string jobs_text();

/// Why a command line was refused, the nearest name to a command, option or choice that is unknown, and where
/// help is.
std::string wrong_use_text(const CLI::App& app, int argc, const char* const* argv,
                           const std::string& problem);

/// Version, commit, instruction sets and libraries, one a line.
std::string version_text();

}  // namespace glassbowl::sim
