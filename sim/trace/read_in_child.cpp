#include "sim/trace/read_in_child.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <poll.h>
#include <sys/resource.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <csignal>
#include <cstdio>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

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

constexpr std::size_t most_handed = 64u << 20;
constexpr int most_silence = 30'000 * static_cast<int>(instrumented);  // [ms]

// Said last, so that what a child said that did not come to its end is not taken for whole.
constexpr std::string_view done = "d", refused = "r";

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

/// Neither end bears the number of a standard stream, as it would where these are closed: the child turns
/// them away.
bool make_pipe(int (&ends)[2]) {
  if (::pipe2(ends, O_CLOEXEC) != 0) return false;
  bool made = true;
  for (int& end : ends) {
    if (end > STDERR_FILENO) continue;
    const int moved = ::fcntl(end, F_DUPFD_CLOEXEC, STDERR_FILENO + 1);
    made = made && moved >= 0;
    ::close(std::exchange(end, moved));
  }
  if (!made)
    for (const int end : ends)
      if (end >= 0) ::close(end);
  return made;
}

/// All of it, unless nobody listens any more.
void say(int pipe, std::string_view text) {
  while (!text.empty()) {
    const ssize_t written = ::write(pipe, text.data(), text.size());
    if (written < 0 && errno == EINTR) continue;
    if (written <= 0) return;
    text.remove_prefix(static_cast<std::size_t>(written));
  }
}

/// What the child says until it ends, or has said too much, or has kept silent too long: then it waits for
/// something that a stranger made it open, and is ended.
std::string listen(int pipe, pid_t child) {
  std::string heard;
  std::vector<char> room(1 << 16);
  while (heard.size() <= most_handed) {
    pollfd ear{pipe, POLLIN, 0};
    const int ready = ::poll(&ear, 1, most_silence);
    if (ready < 0 && errno == EINTR) continue;
    if (ready <= 0) break;
    const ssize_t length = ::read(pipe, room.data(), room.size());
    if (length < 0 && errno == EINTR) continue;
    if (length <= 0) return heard;
    heard.append(room.data(), static_cast<std::size_t>(length));
  }
  ::kill(child, SIGKILL);
  return {};
}

/// As it may be shown: of a length and without control characters.
std::string shown(std::string text) {
  text.resize(std::min<std::size_t>(text.size(), 4000));
  std::erase_if(text, [](unsigned char c) { return c < 0x20 && c != '\n'; });
  return text;
}

[[noreturn]] void be_child(int pipe, const std::function<std::string()>& read) {
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
    say(pipe, read());
    say(pipe, done);
    ::_exit(0);
  } catch (const Error& error) {
    say(pipe, error.what());
  } catch (const Hdf5Failure& failure) {
    say(pipe, fmt::format("is damaged: {}", failure.what()));
  } catch (...) {
    say(pipe, "is damaged: it cannot be read");
  }
  say(pipe, refused);
  ::_exit(0);
}

}  // namespace

std::string read_in_child(const std::filesystem::path& named, const std::function<std::string()>& read) {
  int pipe[2];
  if (!make_pipe(pipe)) fail(named, "cannot be read: no pipe to be had");
  const pid_t child = ::fork();
  if (child == 0) be_child(pipe[1], read);
  ::close(pipe[1]);
  if (child < 0) {
    ::close(pipe[0]);
    fail(named, "cannot be read: no process to be had");
  }
  std::string heard = listen(pipe[0], child);
  ::close(pipe[0]);
  int status = 0;
  while (::waitpid(child, &status, 0) < 0 && errno == EINTR) {
  }
  const std::string last = heard.empty() ? "" : heard.substr(heard.size() - 1);
  if (!heard.empty()) heard.pop_back();
  if (last == done) return heard;
  if (last == refused) {
    const std::string prefix = named.string() + ": ";
    fail(named, shown(heard.starts_with(prefix) ? heard.substr(prefix.size()) : heard));
  }
  fail(named, "is damaged: reading it to its end would crash, or take too much time or memory");
}

}  // namespace glassbowl::sim
