#pragma once

#include <memory>

#include <CLI/CLI.hpp>

namespace glassbowl::sim {

/// Help in lines of at most 100 columns, broken at words.
std::shared_ptr<CLI::FormatterBase> help_format();

}  // namespace glassbowl::sim
