#include "sim/cases/input_file.hpp"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <cerrno>
#include <cstring>

#include "sim/api/error.hpp"

namespace glassbowl::sim {
namespace {

std::string kind_of(mode_t mode) {
  if (S_ISREG(mode)) return {};
  if (S_ISDIR(mode)) return "a folder";
  if (S_ISFIFO(mode)) return "a FIFO (named pipe)";
  if (S_ISSOCK(mode)) return "a socket";
  return "a device";
}

[[noreturn]] void refuse(const std::string& named, const std::string& kind, const std::string& wanted) {
  throw Error(ErrorKind::input, fmt::format("{}: this is {}; {}", named, kind, wanted));
}

[[noreturn]] void fail(const std::string& named) {
  throw Error(ErrorKind::input, fmt::format("{}: this file cannot be read: {}", named, std::strerror(errno)));
}

}  // namespace

std::string other_than_a_file(const std::filesystem::path& path) {
  struct stat about {};
  return ::stat(path.c_str(), &about) == 0 ? kind_of(about.st_mode) : std::string();
}

InputFile::InputFile(const std::filesystem::path& path, const std::string& named, const std::string& wanted)
    : named_(named) {
  if (const auto kind = other_than_a_file(path); !kind.empty()) refuse(named, kind, wanted);
  descriptor_ = ::open(path.c_str(), O_RDONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
  if (descriptor_ < 0) fail(named);
  struct stat about {};
  const std::string kind = ::fstat(descriptor_, &about) == 0 ? kind_of(about.st_mode) : "no longer there";
  if (kind.empty()) return;
  ::close(descriptor_);
  refuse(named, kind, wanted);
}

InputFile::~InputFile() {
  ::close(descriptor_);
}

std::string InputFile::read(std::size_t most) const {
  std::string text(most, '\0');
  std::size_t held = 0;
  while (held < most) {
    const ssize_t length = ::pread(descriptor_, text.data() + held, most - held, static_cast<off_t>(held));
    if (length < 0 && errno == EINTR) continue;
    if (length < 0) fail(named_);
    if (length == 0) break;
    held += static_cast<std::size_t>(length);
  }
  text.resize(held);
  return text;
}

}  // namespace glassbowl::sim
