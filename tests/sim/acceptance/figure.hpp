#pragma once
#include <fmt/core.h>

#include <string_view>

namespace glassbowl::sim {

/// Prints what a test measured, and what is asked of it, on one line of a fixed form.
inline void print_figure(std::string_view name, double value, std::string_view unit, std::string_view bound) {
  fmt::print("figure: {} = {:.5g}{}{} (bound {})\n", name, value, unit.empty() ? "" : " ", unit, bound);
}

}  // namespace glassbowl::sim
