#include "sim/output/disk_file.hpp"

#include <catch2/catch.hpp>
#include <climits>

#include "tests/sim/trace/sample_trace.hpp"

using namespace glassbowl::sim;
using namespace glassbowl::sim::test;

TEST_CASE("disk file: pieces of any number and length follow one another", "[sim][trace][exact]") {
  const ScratchFolder folder;
  const DiskFile file = DiskFile::open_or_create(folder / "pieces");
  std::string all;
  std::vector<iovec> pieces;
  for (std::size_t i = 0; i < 2 * IOV_MAX + 7; ++i) all.append(i % 5, static_cast<char>('a' + i % 23));
  std::size_t begin = 0;
  for (std::size_t i = 0; i < 2 * IOV_MAX + 7; ++i) {  // more than one call takes; each fifth is empty
    pieces.push_back({all.data() + begin, i % 5});
    begin += i % 5;
  }
  file.write_at(pieces, 100);
  REQUIRE(file.size() == 100 + all.size());
  std::string read(all.size(), '\0');
  file.read_at(read.data(), read.size(), 100);
  CHECK(read == all);
  file.write_at(nullptr, 0, 0);
  CHECK(file.size() == 100 + all.size());
}
