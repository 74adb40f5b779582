#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>
#include <iterator>

#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"
#include "tests/sim/trace/sample_trace.hpp"

using namespace glassbowl::sim;
using namespace glassbowl::sim::test;

namespace {

namespace fs = std::filesystem;

/// A file system of a few MiB that holds nothing; by hand, as mounting one takes rights (`.ci/harden`).
fs::path small_disk() {
  const char* given = std::getenv("GLASSBOWL_SMALL_DISK");
  REQUIRE(given != nullptr);
  REQUIRE(fs::space(given).available < 64u << 20);
  return given;
}

/// Takes all room but `left` bytes.
void fill(const fs::path& file, std::uintmax_t left) {
  std::ofstream out(file, std::ios::binary);
  const std::vector<char> block(4096, 'x');
  while (fs::space(file.parent_path()).available > left && out) out.write(block.data(), 4096).flush();
}

/// Writes a trace until it is finished or fails; the message, if so.
std::string write_trace(const fs::path& path, bool force) {
  const bool taken = fs::exists(path) && !force;  // which is the user's to decide
  try {
    TraceWriter writer(path, force, sample_header(), sample_plan(400000, 4000));
    write_rows(writer, 0, 400000);
    writer.finish("complete", sample_summary);
    return {};
  } catch (const Error& error) {
    CHECK(error.kind() == (taken ? ErrorKind::input : ErrorKind::file));
    return error.what();
  }
}

}  // namespace

TEST_CASE("full disk: one error, no file under the final name, every row kept that is written",
          "[.small_disk]") {
  const fs::path disk = small_disk();
  const fs::path path = disk / "run.h5";
  const fs::path partial = disk / "run.h5.partial";
  const std::uintmax_t room = fs::space(disk).available;
  int full = 0;
  for (int part = 0; part < 40; ++part) {
    CAPTURE(part);
    fill(disk / "others", room * part / 40);
    const std::string message = write_trace(path, false);
    INFO(message);
    REQUIRE_FALSE(message.empty());
    REQUIRE(message.find(disk.string()) == 0);
    REQUIRE_FALSE(fs::exists(path));
    if (fs::exists(partial)) {
      const TraceReader reader(partial);
      const auto flow = reader.read("main_flow");
      for (std::size_t row = 0; row < flow.size(); ++row) REQUIRE(flow[row] == -static_cast<double>(row));
      full += reader.rows() > 0;
    }
    for (const auto& entry : fs::directory_iterator(disk)) fs::remove(entry.path());
  }
  CHECK(full > 20);
}

TEST_CASE("full disk: what bore the name before is kept, forced or not", "[.small_disk]") {
  const fs::path disk = small_disk();
  const fs::path path = disk / "run.h5";
  std::ofstream(path) << "older";
  for (const bool force : {false, true}) {
    REQUIRE_FALSE(write_trace(path, force).empty());
    std::ifstream file(path);
    REQUIRE(std::string(std::istreambuf_iterator<char>(file), {}) == "older");
    fs::remove(disk / "run.h5.partial");
  }
  fs::remove(path);
}
