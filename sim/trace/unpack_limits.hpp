#pragma once
#include <cstdint>

/// How much a file of unknown origin may make the program compute and hold. Compression packs zeros a
/// thousand to one: 20 MB may stand for as many GB.
namespace glassbowl::sim {

/// Bytes that all columns of a file of this size may come to in memory. A whole trace compressed by another
/// program has a fifth to a half of its size; only one in which nothing happens has far less, and is small.
constexpr std::uint64_t most_unpacked(std::uint64_t file_bytes) {
  constexpr std::uint64_t always = 256u << 20, times = 16;
  return always + times * file_bytes;
}

/// Bytes of one chunk, which is unpacked as a whole.
inline constexpr std::uint64_t most_chunk_bytes = 32u << 20;

}  // namespace glassbowl::sim
