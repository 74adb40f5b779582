#pragma once

#include <fmt/format.h>

#include <cstdio>
#include <utility>

#include "sim/api/terminal_text.hpp"

namespace glassbowl::sim {

/// The one way in which commands print: fit for a terminal, whoever wrote what is printed.
template <class... Args>
void say_to(std::FILE* stream, fmt::format_string<Args...> form, Args&&... args) {
  const std::string text = terminal_text(fmt::format(form, std::forward<Args>(args)...));
  std::fwrite(text.data(), 1, text.size(), stream);
}

template <class... Args>
void say(fmt::format_string<Args...> form, Args&&... args) {
  say_to(stdout, form, std::forward<Args>(args)...);
}

}  // namespace glassbowl::sim
