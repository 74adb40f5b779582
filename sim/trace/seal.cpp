#include "sim/trace/seal.hpp"

#include <algorithm>
#include <array>
#include <bit>
#include <cstring>
#include <span>
#include <string_view>
#include <vector>

#include "sim/trace/superblock.hpp"

namespace glassbowl::sim {
namespace {

constexpr std::string_view by_pages = "glassbowl seal2\n";
constexpr std::string_view as_a_whole = "glassbowl seal1\n";  // of older traces

bool is_mark(std::string_view text) {
  return text == by_pages || text == as_a_whole;
}

struct SealBytes {
  std::array<char, 16> mark{};
  std::uint64_t length = 0;
  std::uint64_t hash = 0;
};
static_assert(sizeof(SealBytes) == 32 && std::endian::native == std::endian::little);

constexpr std::size_t buffer_pages = 16;
constexpr std::size_t buffer_bytes = buffer_pages * page_bytes;

/// Four lanes of multiply and rotate. Each step is a bijection of the lane and of the word, so a change of
/// one word changes the result.
class Hash {
 public:
  static constexpr std::uint64_t odd = 0x9e3779b97f4a7c15;  // 2^64 over the golden ratio

  void add(std::span<const std::byte> bytes) {
    std::size_t i = 0;
    for (; i + 32 <= bytes.size(); i += 32)
      for (std::size_t lane = 0; lane < 4; ++lane) mix(lane, word(bytes.subspan(i + 8 * lane, 8)));
    for (; i < bytes.size(); i += 8)
      mix(0, word(bytes.subspan(i, std::min<std::size_t>(8, bytes.size() - i))));
  }
  /// Begins with `number`, so that the same bytes elsewhere give another value.
  std::uint64_t value(std::uint64_t number) const {
    for (const std::uint64_t lane : lanes_) number = (std::rotl(number, 23) ^ lane) * odd;
    return number;
  }

 private:
  static std::uint64_t word(std::span<const std::byte> bytes) {
    std::uint64_t w = 0;
    std::memcpy(&w, bytes.data(), bytes.size());
    return w;
  }
  void mix(std::size_t lane, std::uint64_t w) { lanes_[lane] = std::rotl((lanes_[lane] ^ w) * odd, 29); }

  std::array<std::uint64_t, 4> lanes_{1, 2, 3, 4};
};

/// The last step is no sum and no product alone: changes of two pages would else cancel in their sum.
std::uint64_t hash_of_page(std::span<const std::byte> bytes, std::uint64_t number) {
  Hash hash;
  hash.add(bytes);
  std::uint64_t value = hash.value(number);
  for (int i = 0; i < 2; ++i) value = (value ^ value >> 32) * Hash::odd;
  return value ^ value >> 32;
}

/// Sum over all pages of the first `length` bytes; those not known yet are read.
std::uint64_t sum_of_pages(const DiskFile& file, std::uint64_t length, const WrittenPages& known) {
  std::vector<std::byte> buffer(std::min<std::uint64_t>(length, buffer_bytes));
  std::uint64_t sum = known.sum();
  const std::uint64_t pages = (length + page_bytes - 1) / page_bytes;
  for (std::uint64_t first = 0; first < pages;) {
    std::uint64_t end = first;
    while (end < pages && end - first < buffer_pages && !known.has(end)) ++end;
    const std::uint64_t at = first * page_bytes;
    const std::size_t bytes = std::min(length, end * page_bytes) - at;
    file.read_at(buffer.data(), bytes, static_cast<off_t>(at));
    for (std::size_t i = 0; i < bytes; i += page_bytes)
      sum += hash_of_page({buffer.data() + i, std::min(page_bytes, bytes - i)}, first + i / page_bytes);
    for (first = end; first < pages && known.has(first);) ++first;
  }
  return sum;
}

std::uint64_t hash_as_a_whole(const DiskFile& file, std::uint64_t length) {
  Hash hash;
  std::vector<std::byte> buffer(std::min<std::uint64_t>(length, buffer_bytes));
  for (std::uint64_t at = 0; at < length; at += buffer.size()) {
    const std::size_t bytes = std::min<std::uint64_t>(buffer.size(), length - at);
    file.read_at(buffer.data(), bytes, static_cast<off_t>(at));
    hash.add({buffer.data(), bytes});
  }
  return hash.value(length);
}

}  // namespace

void WrittenPages::take(std::span<const std::byte> bytes, std::uint64_t offset) {
  const std::uint64_t first = (offset + page_bytes - 1) / page_bytes,
                      end = (offset + bytes.size()) / page_bytes;
  for (std::uint64_t page = first; page < end; ++page) {
    if (has(page)) continue;  // a write that failed is tried again
    if (page >= taken_.size()) taken_.resize(page + 1);
    taken_[page] = true;
    sum_ += hash_of_page(bytes.subspan(page * page_bytes - offset, page_bytes), page);
  }
}

void write_seal(const DiskFile& file, const WrittenPages& pages) {
  SealBytes seal;
  std::copy(by_pages.begin(), by_pages.end(), seal.mark.begin());
  seal.length = file.size();
  seal.hash = sum_of_pages(file, seal.length, pages);
  file.write_at(&seal, sizeof seal, static_cast<off_t>(seal.length));
}

Seal check_seal(const std::filesystem::path& path) {
  const DiskFile file = DiskFile::open_to_read(path);
  const std::uint64_t size = file.size();
  SealBytes seal;
  if (size >= sizeof seal) file.read_at(&seal, sizeof seal, static_cast<off_t>(size - sizeof seal));
  const std::string_view mark(seal.mark.data(), seal.mark.size());
  if (!is_mark(mark)) {
    // Without a seal the file ends where its superblock says. A little more is the rest of one; a seal there
    // has been followed by other bytes.
    const std::uint64_t end = read_superblock_end(file);
    if (end == 0 || end >= size) return Seal::none;
    if (size - end <= sizeof seal) return Seal::broken;
    file.read_at(&seal, sizeof seal, static_cast<off_t>(end));
    return is_mark({seal.mark.data(), seal.mark.size()}) ? Seal::broken : Seal::none;
  }
  if (seal.length != size - sizeof seal) return Seal::broken;
  const std::uint64_t hash =
      mark == by_pages ? sum_of_pages(file, seal.length, {}) : hash_as_a_whole(file, seal.length);
  return hash == seal.hash ? Seal::sound : Seal::broken;
}

}  // namespace glassbowl::sim
