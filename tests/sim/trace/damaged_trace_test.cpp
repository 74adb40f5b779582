#include <catch2/catch.hpp>
#include <chrono>
#include <cstdlib>
#include <fstream>
#include <iterator>

#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"
#include "tests/sim/trace/sample_trace.hpp"
#include "tests/support/random.hpp"

using namespace glassbowl::sim;
using namespace glassbowl::sim::test;

namespace {

namespace fs = std::filesystem;

/// Damaged copies per kind: few in each test run; GLASSBOWL_DAMAGES=1000 by hand.
int damages() {
  const char* many = std::getenv("GLASSBOWL_DAMAGES");
  return many != nullptr ? std::atoi(many) : 60;
}

std::string bytes_of(const fs::path& path) {
  std::ifstream file(path, std::ios::binary);
  return {std::istreambuf_iterator<char>(file), {}};
}

void put(const fs::path& path, const std::string& bytes) {
  std::ofstream(path, std::ios::binary) << bytes;
}

/// A trace as finished, or as a killed run leaves it.
std::string sample(const ScratchFolder& folder, bool finished) {
  const auto path = folder / "run.h5";
  {
    TraceWriter writer(path, true, sample_header(), sample_plan(5000, 50));
    write_rows(writer, 0, 3000);
    if (finished) writer.finish("complete", sample_summary);
  }
  return bytes_of(finished ? path : folder / "run.h5.partial");
}

/// The one error a trace ends in; empty if it opens and every channel can be read.
std::string error_of(const fs::path& path) {
  try {
    const TraceReader reader(path);
    for (const auto dimension : {Dimension::time, Dimension::cycle})
      for (const Channel& channel : reader.channels(dimension)) reader.read(channel.name);
    return {};
  } catch (const Error& error) {
    CHECK(error.kind() == ErrorKind::file);
    return error.what();
  }
}

}  // namespace

TEST_CASE("trace: a finished one with any bit turned ends in one error", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  const std::string whole = sample(folder, true);
  REQUIRE(error_of(folder / "run.h5").empty());
  glassbowl::tests::Random random(1);
  for (int i = 0; i < damages(); ++i) {
    std::string damaged = whole;
    const auto place = static_cast<std::size_t>(random.between(0.0, static_cast<double>(whole.size())));
    const int bit = static_cast<int>(random.between(0.0, 8.0));
    damaged[place] = static_cast<char>(damaged[place] ^ (1 << bit));
    put(folder / "damaged.h5", damaged);
    CAPTURE(place, bit);
    const std::string error = error_of(folder / "damaged.h5");
    REQUIRE(error.find("damaged.h5: ") != std::string::npos);
    REQUIRE(error.find('\n') == std::string::npos);
  }
}

TEST_CASE("trace: cut short anywhere it ends in one error", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  const std::string whole = sample(folder, true);
  glassbowl::tests::Random random(2);
  for (int i = 0; i < damages(); ++i) {
    const auto length = static_cast<std::size_t>(random.between(0.0, static_cast<double>(whole.size())));
    if (whole.size() - length == 32) continue;  // the seal alone is gone: all data are there
    put(folder / "cut.h5", whole.substr(0, length));
    CAPTURE(length);
    const std::string error = error_of(folder / "cut.h5");
    REQUIRE(error.find("cut.h5: ") != std::string::npos);
    REQUIRE(error.find('\n') == std::string::npos);
  }
}

TEST_CASE("trace: a killed run's one with bits turned in its structure never crashes its reader",
          "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  const std::string whole = sample(folder, false);
  glassbowl::tests::Random random(3);
  int refused = 0;
  for (int i = 0; i < damages(); ++i) {
    std::string damaged = whole;
    for (int flips = 1 + i % 3; flips > 0; --flips) {
      const auto place = static_cast<std::size_t>(random.between(0.0, 12000.0));  // rows come later
      damaged[place] = static_cast<char>(damaged[place] ^ (1 << (flips + i) % 8));
    }
    put(folder / "damaged.h5", damaged);
    refused += !error_of(folder / "damaged.h5").empty();
  }
  CHECK(refused > 0);
}
