#pragma once
#include <string>

namespace glassbowl::viz {

/// Says it on standard error. File names, titles and what a file is damaged by come from strangers, so that
/// nothing in them may steer the terminal.
void complain(const std::string& words);

}  // namespace glassbowl::viz
