#pragma once

#include <string>
#include <vector>

namespace glassbowl::sim {

/// Arguments of a command line as its parser takes them, in reverse order and without the program's name.
/// Where several NAME=VALUE follow one option, as in "--target full=0.87 part=0.95", the option is put before
/// each. A word that names a file is none of them.
std::vector<std::string> with_option_repeated(int argc, const char* const* argv);

}  // namespace glassbowl::sim
