#pragma once

#include <filesystem>

#include "sim/trace/disk_file.hpp"

namespace glassbowl::sim {

/// A finished trace ends in a seal: 32 bytes behind the end that its superblock names, which HDF5 readers
/// pass over. It holds the length before it and a hash of every byte of it, so that no damage goes unseen.
///
/// The hash finds any change within one aligned word of eight bytes for certain and others but for one in
/// 2^64; it is no proof against a forger.

/// Appends the seal. Errors: std::system_error.
void write_seal(const DiskFile& file);

enum class Seal {
  none,   ///< still being written, left by a killed run, or rewritten by another program
  sound,  ///< the file is as it was finished
  broken  ///< it is not, or its seal is not
};

/// Reads the whole file once, by way of a small buffer. Errors: std::system_error.
Seal check_seal(const std::filesystem::path& path);

}  // namespace glassbowl::sim
