#include "sim/output/disk_file.hpp"

#include <fcntl.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <climits>
#include <system_error>
#include <utility>

namespace glassbowl::sim {
namespace {

[[noreturn]] void fail(int error) {
  throw std::system_error(error, std::generic_category());
}

}  // namespace

DiskFile::DiskFile(const std::filesystem::path& path)
    : descriptor_(::open(path.c_str(), O_RDWR | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC)) {
  if (descriptor_ < 0) fail(errno);
}

DiskFile DiskFile::open_to_read(const std::filesystem::path& path) {
  // A FIFO would wait for its writer for ever.
  const int descriptor = ::open(path.c_str(), O_RDONLY | O_NONBLOCK | O_NOCTTY | O_CLOEXEC);
  if (descriptor < 0) fail(errno);
  DiskFile file(descriptor);
  struct stat about {};
  if (::fstat(descriptor, &about) != 0) fail(errno);
  if (!S_ISREG(about.st_mode)) fail(S_ISDIR(about.st_mode) ? EISDIR : ESPIPE);
  return file;
}

DiskFile DiskFile::open_or_create(const std::filesystem::path& path) {
  const int descriptor = ::open(path.c_str(), O_RDWR | O_CREAT | O_NOFOLLOW | O_NONBLOCK | O_CLOEXEC, 0666);
  if (descriptor < 0) fail(errno);
  return DiskFile(descriptor);
}

DiskFile DiskFile::of(int descriptor) {
  return DiskFile(descriptor);
}

DiskFile::~DiskFile() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

DiskFile::DiskFile(DiskFile&& other) noexcept : descriptor_(std::exchange(other.descriptor_, -1)) {}

DiskFile& DiskFile::operator=(DiskFile&& other) noexcept {
  std::swap(descriptor_, other.descriptor_);
  return *this;
}

void DiskFile::write_at(const void* data, std::size_t bytes, off_t offset) const {
  iovec all{const_cast<void*>(data), bytes};  // only read
  write_at(std::span(&all, 1), offset);
}

void DiskFile::write_at(std::span<iovec> pieces, off_t offset) const {
  std::size_t done = 0;  // of the first piece
  while (true) {
    while (!pieces.empty() && done >= pieces.front().iov_len) {
      done -= pieces.front().iov_len;
      pieces = pieces.subspan(1);
    }
    if (pieces.empty()) return;
    pieces.front().iov_base = static_cast<char*>(pieces.front().iov_base) + done;
    pieces.front().iov_len -= done;
    done = 0;
    const auto count = static_cast<int>(std::min<std::size_t>(pieces.size(), IOV_MAX));
    const ssize_t written = ::pwritev(descriptor_, pieces.data(), count, offset);
    if (written < 0 && errno == EINTR) continue;
    if (written < 0) fail(errno);
    if (written == 0) fail(ENOSPC);
    offset += written;
    done = static_cast<std::size_t>(written);
  }
}

void DiskFile::read_at(void* data, std::size_t bytes, off_t offset) const {
  char* to = static_cast<char*>(data);
  while (bytes > 0) {
    const ssize_t done = ::pread(descriptor_, to, bytes, offset);
    if (done < 0 && errno == EINTR) continue;
    if (done < 0) fail(errno);
    if (done == 0) fail(EIO);
    to += done;
    bytes -= static_cast<std::size_t>(done);
    offset += done;
  }
}

std::uint64_t DiskFile::size() const {
  struct stat here {};
  if (::fstat(descriptor_, &here) != 0) fail(errno);
  return static_cast<std::uint64_t>(here.st_size);
}

void DiskFile::cut(std::uint64_t bytes) const {
  if (::ftruncate(descriptor_, static_cast<off_t>(bytes)) != 0) fail(errno);
}

bool DiskFile::try_lock() const {
  // A lock of the open file description: HDF5 readers use flock, which this one does not meet.
  struct flock whole {};
  whole.l_type = F_WRLCK;
  whole.l_whence = SEEK_SET;
  if (::fcntl(descriptor_, F_OFD_SETLK, &whole) == 0) return true;
  return errno != EAGAIN && errno != EACCES;  // file systems without locks must not stop a run
}

bool DiskFile::is_at(int folder, const std::string& name) const {
  struct stat here {};
  struct stat there {};
  return ::fstat(descriptor_, &here) == 0 &&
         ::fstatat(folder, name.c_str(), &there, AT_SYMLINK_NOFOLLOW) == 0 && here.st_ino == there.st_ino &&
         here.st_dev == there.st_dev;
}

bool DiskFile::is_at(const std::filesystem::path& path) const {
  return is_at(AT_FDCWD, path.string());
}

bool DiskFile::is_regular() const {
  struct stat here {};
  return ::fstat(descriptor_, &here) == 0 && S_ISREG(here.st_mode);
}

void DiskFile::sync() const {
  if (::fsync(descriptor_) != 0 && errno != EINVAL && errno != ENOTSUP) fail(errno);
}

}  // namespace glassbowl::sim
