#pragma once

#include <optional>
#include <string>

#include "sim/api/error.hpp"

namespace glassbowl::sim {

/// The error that `act` throws, if any.
template <class Act>
std::optional<Error> error_of(Act act) {
  try {
    act();
  } catch (const Error& error) {
    return error;
  }
  return std::nullopt;
}

/// Its message, or a text no test asks for.
template <class Act>
std::string message_of(Act act) {
  const auto error = error_of(act);
  return error ? error->what() : "(no error)";
}

}  // namespace glassbowl::sim
