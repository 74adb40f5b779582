#pragma once

#include <cstdint>

#include "sim/output/disk_file.hpp"

namespace glassbowl::sim {

/// Where in the superblock (HDF5 file format, version 0, lengths of 8 bytes) a file's end is said.
inline constexpr off_t superblock_end_at = 40;
inline constexpr std::uint64_t superblock_bytes = 96;

/// The end of the file that its superblock says; 0 for any other file. Errors: std::system_error.
std::uint64_t read_superblock_end(const DiskFile& file);

}  // namespace glassbowl::sim
