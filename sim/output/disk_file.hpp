#pragma once

#include <sys/types.h>
#include <sys/uio.h>

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <span>
#include <string>

namespace glassbowl::sim {

/// An open file of the operating system, for row data and for what HDF5 does not do: locks, sync, identity.
class DiskFile {
 public:
  DiskFile() = default;
  /// Opens an existing file for reading and writing; follows no link, waits for nobody. Throws
  /// std::system_error.
  explicit DiskFile(const std::filesystem::path& path);
  /// Opens one for reading alone. Throws std::system_error.
  static DiskFile open_to_read(const std::filesystem::path& path);
  /// Opens the file of this name as it is, or makes an empty one. Throws std::system_error.
  static DiskFile open_or_create(const std::filesystem::path& path);
  /// Takes over an open file.
  static DiskFile of(int descriptor);
  ~DiskFile();
  DiskFile(DiskFile&& other) noexcept;
  DiskFile& operator=(DiskFile&& other) noexcept;

  /// Transfers all bytes or throws std::system_error.
  void write_at(const void* data, std::size_t bytes, off_t offset) const;
  /// Likewise pieces of memory that follow one another in the file: one long stretch costs a file system less
  /// than many short ones. The pieces are used up.
  void write_at(std::span<iovec> pieces, off_t offset) const;
  void read_at(void* data, std::size_t bytes, off_t offset) const;

  std::uint64_t size() const;
  void cut(std::uint64_t bytes) const;

  /// Marks the file as being written; false if another run holds it. Readers are not kept out.
  bool try_lock() const;

  /// Whether this file, and no link to it, has the name, in an open folder or from the present one.
  bool is_at(int folder, const std::string& name) const;
  bool is_at(const std::filesystem::path& path) const;
  bool is_regular() const;
  int descriptor() const { return descriptor_; }

  /// Waits until the data are on the medium. Throws std::system_error.
  void sync() const;

 private:
  explicit DiskFile(int descriptor) : descriptor_(descriptor) {}

  int descriptor_ = -1;
};

}  // namespace glassbowl::sim
