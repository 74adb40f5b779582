#pragma once

#include <stdexcept>
#include <string>

namespace glassbowl::sim {

/// Whose matter an error is; a command line turns it into an exit code.
enum class ErrorKind {
  input,      ///< wrong use: an argument or override that makes no sense (exit 2)
  case_file,  ///< a case that cannot be read or says something impossible (exit 2)
  solver,     ///< the computation failed (exit 1)
  file,       ///< a file could not be written, read or is damaged (exit 1)
};

/// The one exception of glassbowl::sim. Its text is complete: it names the place, what is wrong and a remedy.
class Error : public std::runtime_error {
 public:
  Error(ErrorKind kind, const std::string& message) : std::runtime_error(message), kind_(kind) {}

  ErrorKind kind() const noexcept { return kind_; }

  /// 2 for what the user can mend in the input, 1 for what failed on the way.
  int exit_code() const noexcept {
    return kind_ == ErrorKind::input || kind_ == ErrorKind::case_file ? 2 : 1;
  }

 private:
  ErrorKind kind_;
};

}  // namespace glassbowl::sim
