#include "sim/trace/seal.hpp"

#include <sys/stat.h>

#include <array>
#include <bit>
#include <catch2/catch.hpp>
#include <cmath>
#include <cstring>
#include <filesystem>

#include "sim/api/trace.hpp"
#include "tests/sim/trace/sample_trace.hpp"
#include "tests/support/random.hpp"

using namespace glassbowl::sim;
using namespace glassbowl::sim::test;

namespace {

constexpr std::size_t page = page_bytes;

std::vector<std::byte> some_bytes(std::size_t count) {
  glassbowl::tests::Random random(7);
  std::vector<std::byte> bytes(count);
  for (auto& byte : bytes) byte = static_cast<std::byte>(random.between(0.0, 256.0));
  return bytes;
}

/// A file of these bytes and its seal, which is returned: to begin with, those in `taken` are told of.
std::vector<std::byte> seal_of(const std::filesystem::path& path, const std::vector<std::byte>& bytes,
                               const std::vector<std::pair<std::size_t, std::size_t>>& taken) {
  std::filesystem::remove(path);
  const DiskFile file = DiskFile::open_or_create(path);
  file.write_at(bytes.data(), bytes.size(), 0);
  WrittenPages pages;
  for (const auto& [begin, end] : taken)
    for (int twice = 0; twice < 2; ++twice)  // as after a write that failed
      pages.take(std::span(bytes).subspan(begin, end - begin), begin);
  write_seal(file, pages);
  std::vector<std::byte> seal(32);
  file.read_at(seal.data(), seal.size(), static_cast<off_t>(bytes.size()));
  REQUIRE(file.size() == bytes.size() + seal.size());
  return seal;
}

/// The seal of traces before pages were summed: one hash of all words, by turns into four lanes.
std::array<std::uint64_t, 4> old_seal_of(const std::vector<std::byte>& bytes) {
  constexpr std::uint64_t odd = 0x9e3779b97f4a7c15;
  std::array<std::uint64_t, 4> lanes{1, 2, 3, 4}, seal{};
  REQUIRE(bytes.size() % 32 == 0);
  for (std::size_t i = 0; i < bytes.size(); i += 8) {
    std::uint64_t word = 0;
    std::memcpy(&word, bytes.data() + i, 8);
    auto& lane = lanes[i / 8 % 4];
    lane = std::rotl((lane ^ word) * odd, 29);
  }
  std::memcpy(seal.data(), "glassbowl seal1\n", 16);
  seal[2] = seal[3] = bytes.size();
  for (const auto lane : lanes) seal[3] = (std::rotl(seal[3], 23) ^ lane) * odd;
  return seal;
}

}  // namespace

TEST_CASE("seal: pages told of and pages read come to the same", "[sim][trace][symmetry]") {
  const ScratchFolder folder;
  const std::size_t size = GENERATE(40 * page, 40 * page + 1, 40 * page + 3000, std::size_t{100});
  CAPTURE(size);
  const auto bytes = some_bytes(size);
  const auto read = seal_of(folder / "read", bytes, {});
  CHECK(seal_of(folder / "all", bytes, {{0, size}}) == read);
  if (size > 30 * page)  // beginning and ending on a page, or not; in any order; one that fills no page
    CHECK(seal_of(folder / "some", bytes,
                  {{20 * page, 30 * page}, {page + 5, 3 * page + 4}, {3 * page + 7, 9 * page}, {5, 50}}) ==
          read);
  CHECK(check_seal(folder / "read") == Seal::sound);
}

TEST_CASE("seal: a page that reached the file otherwise than told, or another's place, breaks it",
          "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  const auto bytes = some_bytes(9 * page + 100);
  const auto spoil = [&](auto change) {
    const auto path = folder / "sealed";
    seal_of(path, bytes, {{0, bytes.size()}});
    REQUIRE(check_seal(path) == Seal::sound);
    change(DiskFile(path));
    return check_seal(path);
  };
  for (const std::size_t at : {std::size_t{0}, page - 1, 4 * page + 17, 9 * page + 99})
    CHECK(spoil([&](const DiskFile& file) {
            const std::byte other = ~bytes[at];
            file.write_at(&other, 1, static_cast<off_t>(at));
          }) == Seal::broken);
  for (std::size_t at = 9 * page + 100; at < 9 * page + 132; ++at)  // the seal itself
    for (int bit = 0; bit < 8; ++bit)
      CHECK(spoil([&](const DiskFile& file) {
              std::byte one{};
              file.read_at(&one, 1, static_cast<off_t>(at));
              one ^= std::byte{1} << bit;
              file.write_at(&one, 1, static_cast<off_t>(at));
            }) != Seal::sound);
  CHECK(spoil([&](const DiskFile& file) {
          file.write_at(bytes.data() + 2 * page, page, 3 * page);
          file.write_at(bytes.data() + 3 * page, page, 2 * page);
        }) == Seal::broken);
}

TEST_CASE("seal: the same change of two pages does not cancel, whichever two", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  const auto bytes = some_bytes(64 * page);
  const auto path = folder / "sealed";
  seal_of(path, bytes, {});
  const DiskFile file(path);
  const auto turn = [&](std::size_t number, std::byte bit) {  // in the last word, which is mixed least
    const std::size_t at = (number + 1) * page - 1;
    const std::byte turned = bytes[at] ^ bit;
    file.write_at(&turned, 1, static_cast<off_t>(at));
  };
  int unseen = 0;
  for (const std::byte bit : {std::byte{0x80}, std::byte{0x40}, std::byte{1}})
    for (std::size_t a = 0; a < 64; ++a)
      for (std::size_t b = a + 1; b < 64; b += 3) {
        turn(a, bit);
        turn(b, bit);
        unseen += check_seal(path) != Seal::broken;
        turn(a, std::byte{0});
        turn(b, std::byte{0});
      }
  CHECK(unseen == 0);
  CHECK(check_seal(path) == Seal::sound);
}

TEST_CASE("seal: older traces, sealed as a whole, are sound and damaged as before", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  auto bytes = some_bytes(33 * page + 64);
  const auto seal = old_seal_of(bytes);
  const auto write = [&] {
    std::filesystem::remove(folder / "old");
    const DiskFile file = DiskFile::open_or_create(folder / "old");
    file.write_at(bytes.data(), bytes.size(), 0);
    file.write_at(seal.data(), sizeof seal, static_cast<off_t>(bytes.size()));
  };
  write();
  CHECK(check_seal(folder / "old") == Seal::sound);
  bytes[20 * page] ^= std::byte{4};
  write();
  CHECK(check_seal(folder / "old") == Seal::broken);
}

namespace {

/// Bytes of a file that are on the medium.
std::size_t room_of(const std::filesystem::path& path) {
  struct stat here {};
  REQUIRE(::stat(path.c_str(), &here) == 0);
  return static_cast<std::size_t>(here.st_blocks) * 512;
}

}  // namespace

TEST_CASE("trace: what stays zero takes no room, and is read as zero", "[sim][trace][exact]") {
  const ScratchFolder folder;
  const auto path = folder / "run.h5";
  constexpr std::size_t rows = 40960;
  // Room for all rows is reserved, or the file grows on the way.
  const std::size_t expected = GENERATE(std::size_t{40960}, std::size_t{8192});
  CAPTURE(expected);
  const auto room_with = [&](double idle) {
    TraceWriter writer(path, true, sample_header(), sample_plan(expected, 1));
    // The first channel moves once; the second is a number that compares as zero.
    for (std::size_t row = 0; row < rows; ++row)
      writer.time_row(sample_time(row), std::array{row == 30000 ? 1.5 : idle, -0.0, sample_row(row)[2]});
    writer.finish("complete", sample_summary);
    const TraceReader reader(path);
    const auto first = reader.read("manifold_pressure"), second = reader.read("crank_angle");
    REQUIRE(reader.rows() == rows);
    std::size_t wrong = 0;
    for (std::size_t row = 0; row < rows; ++row)
      wrong += first[row] != (row == 30000 ? 1.5 : idle) || second[row] != 0.0 || !std::signbit(second[row]);
    CHECK(wrong == 0);
    return room_of(path);
  };
  DiskFile::open_or_create(folder / "hole").write_at("", 1, 1 << 20);
  const std::size_t with_ones = room_with(1.0), with_zeros = room_with(0.0);
  if (room_of(folder / "hole") > 1 << 19) {
    WARN("this file system keeps no holes: their room is not looked at");
  } else {
    // All blocks but one, less a page or two in which a file system notes where holes are.
    CHECK(with_zeros + 9 * (4 * rows / 5 * sizeof(float)) / 10 < with_ones);
  }
}

TEST_CASE("trace: bytes behind the seal are damage, however many and whatever they are",
          "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  {
    TraceWriter writer(folder / "run.h5", false, sample_header(), sample_plan(300, 3));
    write_rows(writer, 0, 300);
    writer.finish("complete", sample_summary);
  }
  REQUIRE(check_seal(folder / "run.h5") == Seal::sound);
  for (const std::size_t count : {1, 8, 31, 32, 33, 4096, 100'000}) {
    CAPTURE(count);
    std::filesystem::copy_file(folder / "run.h5", folder / "longer.h5",
                               std::filesystem::copy_options::overwrite_existing);
    {
      const DiskFile file(folder / "longer.h5");
      const auto more = some_bytes(count);
      file.write_at(more.data(), more.size(), static_cast<off_t>(file.size()));
    }
    CHECK(check_seal(folder / "longer.h5") == Seal::broken);
    CHECK_THROWS_WITH(TraceReader(folder / "longer.h5"), Catch::Contains("differs from what was written"));
  }
}
