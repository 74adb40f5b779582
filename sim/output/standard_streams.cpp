#include "sim/api/standard_streams.hpp"

#include <fcntl.h>
#include <unistd.h>

#include <csignal>
#include <initializer_list>

namespace glassbowl::sim {

void hold_standard_streams() {
  // Each opened the wrong way round; the lowest free number is taken, so they come in order.
  for (const int stream : {STDIN_FILENO, STDOUT_FILENO, STDERR_FILENO})
    if (::fcntl(stream, F_GETFD) < 0) ::open("/dev/null", stream == STDIN_FILENO ? O_WRONLY : O_RDONLY);
  std::signal(SIGXFSZ, SIG_IGN);
}

}  // namespace glassbowl::sim
