#pragma once
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <functional>

namespace glassbowl::tests {

/// What `act` returns in a process that may have `most` threads, its first one included, or fewer; -1 if it
/// crashes. An administrator, who may have any number, acts as nobody.
inline int with_few_threads(rlim_t most, const std::function<int()>& act) {
  const pid_t child = fork();
  if (child == 0) {
    const rlimit limit{most, most};
    if (setrlimit(RLIMIT_NPROC, &limit) != 0 || (geteuid() == 0 && setuid(65534) != 0)) _exit(100);
    _exit(act());
  }
  int status = 0;
  return waitpid(child, &status, 0) == child && WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

}  // namespace glassbowl::tests
