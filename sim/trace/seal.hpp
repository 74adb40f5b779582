#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <span>
#include <vector>

#include "sim/output/disk_file.hpp"

namespace glassbowl::sim {

/// A finished trace ends in a seal: 32 bytes behind the end that its superblock names, which HDF5 readers
/// pass over. It holds the length before it and the sum of its pages' hashes, so that no damage goes unseen.
///
/// It finds any change within one aligned word of eight bytes for certain and others but for about one in
/// 2^64; it is no proof against a forger.

inline constexpr std::size_t page_bytes = 4096;  // of a file: blocks of rows are whole ones

/// The part of the sum known already: pages taken on their way to the file, which need not be read again.
/// Takes one bit for each page.
class WrittenPages {
 public:
  /// Takes the pages that these bytes fill, which belong at `offset` of the file. A page taken may be written
  /// again with the same bytes only.
  void take(std::span<const std::byte> bytes, std::uint64_t offset);

  bool has(std::uint64_t page) const { return page < taken_.size() && taken_[page]; }
  std::uint64_t sum() const { return sum_; }

 private:
  std::uint64_t sum_ = 0;
  std::vector<bool> taken_;
};

/// Appends the seal; all of `pages` must lie in the file as they were taken. Errors: std::system_error.
void write_seal(const DiskFile& file, const WrittenPages& pages);

enum class Seal {
  none,   ///< still being written, left by a killed run, or rewritten by another program
  sound,  ///< the file is as it was finished
  broken  ///< it is not, or its seal is not, or something follows it
};

/// Reads the whole file once, by way of a small buffer. Errors: std::system_error.
Seal check_seal(const std::filesystem::path& path);

}  // namespace glassbowl::sim
