#include "sim/trace/seal.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>
#include <fstream>
#include <system_error>
#include <vector>

namespace glassbowl::sim {
namespace {

struct SealBytes {
  std::array<char, 16> mark{'g', 'l', 'a', 's', 's', 'b', 'o', 'w', 'l', ' ', 's', 'e', 'a', 'l', '1', '\n'};
  std::uint64_t length = 0;
  std::uint64_t hash = 0;
};
static_assert(sizeof(SealBytes) == 32 && std::endian::native == std::endian::little);

constexpr std::size_t buffer_bytes = 1 << 16;  // a whole number of words in every lane

/// Four lanes of multiply and rotate. Each step is a bijection of the lane and of the word, so a change of
/// one word changes the result.
class Hash {
 public:
  void add(const char* data, std::size_t bytes) {
    std::size_t i = 0;
    for (; i + 32 <= bytes; i += 32)
      for (std::size_t lane = 0; lane < 4; ++lane) mix(lane, word(data + i + 8 * lane, 8));
    for (; i < bytes; i += 8) mix(0, word(data + i, std::min<std::size_t>(8, bytes - i)));
  }
  std::uint64_t value(std::uint64_t length) const {
    std::uint64_t sum = length;
    for (const std::uint64_t lane : lanes_) sum = (std::rotl(sum, 23) ^ lane) * odd;
    return sum;
  }

 private:
  static constexpr std::uint64_t odd = 0x9e3779b97f4a7c15;  // 2^64 over the golden ratio

  static std::uint64_t word(const char* data, std::size_t bytes) {
    std::uint64_t w = 0;
    std::memcpy(&w, data, bytes);
    return w;
  }
  void mix(std::size_t lane, std::uint64_t w) { lanes_[lane] = std::rotl((lanes_[lane] ^ w) * odd, 29); }

  std::array<std::uint64_t, 4> lanes_{1, 2, 3, 4};
};

/// Hash of the first `length` bytes, got by `read(data, bytes, offset)`.
template <class Read>
std::uint64_t hash_of(std::uint64_t length, Read read) {
  Hash hash;
  std::vector<char> buffer(std::min<std::uint64_t>(length, buffer_bytes));
  for (std::uint64_t at = 0; at < length; at += buffer.size()) {
    const std::size_t bytes = std::min<std::uint64_t>(buffer.size(), length - at);
    read(buffer.data(), bytes, at);
    hash.add(buffer.data(), bytes);
  }
  return hash.value(length);
}

/// Where the file ends by its superblock (HDF5 file format, version 0); 0 for any other file.
std::uint64_t end_in_superblock(std::ifstream& file) {
  constexpr std::array<char, 9> signature{'\x89', 'H', 'D', 'F', '\r', '\n', '\x1a', '\n', 0};
  std::array<char, 48> head{};
  if (!file.read(head.data(), head.size()) || !std::equal(signature.begin(), signature.end(), head.begin()))
    return 0;
  std::uint64_t end = 0;
  std::memcpy(&end, head.data() + 40, sizeof end);
  return end;
}

}  // namespace

void write_seal(const DiskFile& file) {
  SealBytes seal;
  seal.length = file.size();
  seal.hash = hash_of(seal.length, [&](char* data, std::size_t bytes, std::uint64_t at) {
    file.read_at(data, bytes, static_cast<off_t>(at));
  });
  file.write_at(&seal, sizeof seal, static_cast<off_t>(seal.length));
}

Seal check_seal(const std::filesystem::path& path) {
  std::ifstream file(path, std::ios::binary);
  const std::uint64_t size = std::filesystem::file_size(path);
  SealBytes seal;
  const SealBytes wanted;
  const std::uint64_t end = end_in_superblock(file);
  file.clear();
  if (size >= sizeof seal) {
    file.seekg(static_cast<std::streamoff>(size - sizeof seal));
    file.read(reinterpret_cast<char*>(&seal), sizeof seal);
  }
  if (size < sizeof seal || !file || seal.mark != wanted.mark) {
    // Without a seal the file ends where its superblock says; a little more is the rest of one.
    return end != 0 && end < size && size - end <= sizeof seal ? Seal::broken : Seal::none;
  }
  if (seal.length != size - sizeof seal) return Seal::broken;
  file.seekg(0);
  const std::uint64_t hash = hash_of(seal.length, [&](char* data, std::size_t bytes, std::uint64_t) {
    if (!file.read(data, static_cast<std::streamsize>(bytes)))
      throw std::system_error(std::make_error_code(std::errc::io_error));
  });
  return hash == seal.hash ? Seal::sound : Seal::broken;
}

}  // namespace glassbowl::sim
