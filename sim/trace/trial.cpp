#include "sim/trace/trial.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <string>

#include "sim/api/error.hpp"
#include "sim/trace/hdf5.hpp"

namespace glassbowl::sim {
namespace {

// What a sanitizer of g++ adds to a program takes many times its memory and time.
#if defined(__SANITIZE_ADDRESS__) || defined(__SANITIZE_THREAD__)
constexpr rlim_t instrumented = 16;
#else
constexpr rlim_t instrumented = 1;
#endif
constexpr rlim_t most_bytes = instrumented * (256u << 20);  // beyond what the process has already
constexpr rlim_t most_seconds = instrumented;               // of processor time

constexpr int done = 0, refused = 1;

[[noreturn]] void fail(const std::filesystem::path& path, const std::string& message) {
  throw Error(ErrorKind::file, fmt::format("{}: {}", path.string(), message));
}

void limit(int resource, rlim_t most) {
  rlimit now{};
  ::getrlimit(static_cast<__rlimit_resource_t>(resource), &now);
  now.rlim_cur = std::min(most, now.rlim_max);
  ::setrlimit(static_cast<__rlimit_resource_t>(resource), &now);
}

/// Memory of this process that counts against RLIMIT_DATA; 0 where the system does not tell.
rlim_t bytes_now() {
  unsigned long pages[6] = {};
  if (std::FILE* file = std::fopen("/proc/self/statm", "r")) {
    for (unsigned long& value : pages)
      if (std::fscanf(file, "%lu", &value) != 1) break;
    std::fclose(file);
  }
  return pages[5] * static_cast<rlim_t>(::sysconf(_SC_PAGESIZE));
}

void say(int pipe, const std::string& text) {
  const ssize_t written = ::write(pipe, text.data(), std::min<std::size_t>(text.size(), 4000));
  static_cast<void>(written);
}

[[noreturn]] void be_child(int pipe, const std::function<void()>& read) {
  for (const int signal : {SIGSEGV, SIGBUS, SIGABRT, SIGFPE, SIGILL, SIGXCPU}) std::signal(signal, SIG_DFL);
  // Last words of the C library, or of a sanitizer, are none of the user's.
  if (const int nowhere = ::open("/dev/null", O_WRONLY | O_CLOEXEC); nowhere >= 0)
    for (const int stream : {1, 2}) ::dup2(nowhere, stream);
  limit(RLIMIT_CORE, 0);
  limit(RLIMIT_FSIZE, 0);
  limit(RLIMIT_CPU, most_seconds);
  // Without knowing what is there already, a limit on more could be one on nothing.
  if (const rlim_t now = bytes_now(); now > 0) limit(RLIMIT_DATA, now + most_bytes);
  try {
    read();
    ::_exit(done);
  } catch (const Error& error) {
    say(pipe, error.what());
  } catch (const Hdf5Failure& failure) {
    say(pipe, fmt::format("is damaged: {}", failure.what()));
  } catch (...) {
    say(pipe, "is damaged: it cannot be read");
  }
  ::_exit(refused);
}

}  // namespace

void try_reading(const std::filesystem::path& path, const std::function<void()>& read) {
  int pipe[2];
  if (::pipe2(pipe, O_CLOEXEC) != 0) fail(path, "cannot be read: no pipe to be had");
  const pid_t child = ::fork();
  if (child == 0) be_child(pipe[1], read);
  ::close(pipe[1]);
  if (child < 0) {
    ::close(pipe[0]);
    fail(path, "cannot be read: no process to be had");
  }
  std::string text(4096, '\0');
  ssize_t length = 0;
  while ((length = ::read(pipe[0], text.data(), text.size())) < 0 && errno == EINTR) {
  }
  ::close(pipe[0]);
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  if (WIFEXITED(status) && WEXITSTATUS(status) == done) return;
  if (WIFEXITED(status) && WEXITSTATUS(status) == refused && length > 0) {
    text.resize(static_cast<std::size_t>(length));
    const std::string prefix = path.string() + ": ";
    fail(path, text.starts_with(prefix) ? text.substr(prefix.size()) : text);
  }
  fail(path, "is damaged: reading it to its end would crash, or take too much time or memory");
}

}  // namespace glassbowl::sim
