#include "sim/trace/superblock.hpp"

#include <algorithm>
#include <array>
#include <cstring>

namespace glassbowl::sim {

std::uint64_t read_superblock_end(const DiskFile& file) {
  constexpr std::array<unsigned char, 9> signature{0x89, 'H', 'D', 'F', '\r', '\n', 0x1a, '\n', 0};
  constexpr std::size_t length_size_at = 14;
  std::array<unsigned char, superblock_bytes> head{};
  if (file.size() < head.size()) return 0;
  file.read_at(head.data(), head.size(), 0);
  if (!std::equal(signature.begin(), signature.end(), head.begin()) || head[length_size_at] != 8) return 0;
  std::uint64_t end = 0;
  std::memcpy(&end, head.data() + superblock_end_at, sizeof end);
  return end;
}

}  // namespace glassbowl::sim
