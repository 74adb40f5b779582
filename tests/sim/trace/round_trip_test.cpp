#include <catch2/catch.hpp>
#include <chrono>
#include <fstream>
#include <iterator>
#include <thread>

#include "sim/api/error.hpp"
#include "sim/api/trace.hpp"
#include "tests/sim/trace/sample_trace.hpp"

using namespace glassbowl::sim;
using namespace glassbowl::sim::test;

namespace {

void write_whole(const std::filesystem::path& path, std::size_t expected, std::size_t rows) {
  TraceWriter writer(path, false, sample_header(), sample_plan(expected, expected / 100));
  write_rows(writer, 0, rows);
  writer.finish("complete", sample_summary);
}

void check_rows(const TraceReader& reader, std::size_t rows) {
  REQUIRE(reader.rows() == rows);
  REQUIRE(reader.cycles() == rows / 100);
  const auto time = reader.read("time");
  const auto pressure = reader.read("manifold_pressure");
  const auto angle = reader.read("crank_angle");
  const auto flow = reader.read("main_flow");
  REQUIRE(time.size() == rows);
  REQUIRE(pressure.size() == rows);
  std::size_t wrong = 0;
  for (std::size_t row = 0; row < rows; ++row) {
    const auto expected = sample_row(row);
    wrong += time[row] != sample_time(row) || pressure[row] != expected[0] || angle[row] != expected[1] ||
             flow[row] != expected[2];
  }
  CHECK(wrong == 0);
  const auto cycle = reader.read("cycle");
  const auto lambda = reader.read("lambda");
  const auto torque = reader.read("torque");
  REQUIRE(cycle.size() == rows / 100);
  for (std::size_t i = 0; i < cycle.size(); ++i) {
    wrong += cycle[i] != static_cast<double>(i) || lambda[i] != sample_cycle(i)[0] ||
             torque[i] != sample_cycle(i)[1];
  }
  CHECK(wrong == 0);
}

}  // namespace

TEST_CASE("trace: what is written is read, for runs shorter and longer than planned", "[sim][trace][exact]") {
  const ScratchFolder folder;
  struct Length {
    std::size_t expected, rows;
  };
  const auto length =
      GENERATE(Length{1, 1}, Length{1000, 0}, Length{1000, 1000}, Length{1024, 1024}, Length{1025, 1024},
               Length{20000, 137}, Length{20000, 19999}, Length{300000, 4096}, Length{300000, 70001},
               Length{1000, 1025}, Length{1000, 9000}, Length{0, 5000}, Length{1000, 120000});
  CAPTURE(length.expected, length.rows);
  const auto path = folder / "run.h5";
  write_whole(path, length.expected, length.rows);
  check_rows(TraceReader(path), length.rows);
  CHECK_FALSE(std::filesystem::exists(folder / "run.h5.partial"));
}

TEST_CASE("trace: header, channels, summary and status come back", "[sim][trace][exact]") {
  const ScratchFolder folder;
  const auto path = folder / "run.h5";
  TraceHeader header = sample_header();
  header.case_resolved += std::string(200000, '#') + "\nend = \"yes\"\n";  // beyond an attribute's 64 KiB
  {
    TraceWriter writer(path, false, header, sample_plan(100, 1));
    write_rows(writer, 0, 100);
    writer.finish("stopped early: the bowl ran dry", sample_summary);
  }
  const TraceReader reader(path);
  CHECK(reader.title() == header.title);
  CHECK(reader.program_version() == header.version);
  CHECK(reader.case_resolved() == header.case_resolved);
  CHECK(reader.status() == "stopped early: the bowl ran dry");
  CHECK_FALSE(reader.complete());
  CHECK(reader.summary() == sample_summary);
  const auto planned = sample_plan(0, 0);
  const auto& channels = reader.channels(Dimension::time);
  REQUIRE(channels.size() == planned.time_channels.size());
  for (std::size_t i = 0; i < channels.size(); ++i) {
    CHECK(channels[i].name == planned.time_channels[i].name);
    CHECK(channels[i].unit == planned.time_channels[i].unit);
    CHECK(channels[i].long_name == planned.time_channels[i].long_name);
    CHECK(channels[i].part == planned.time_channels[i].part);
    CHECK(channels[i].wide == planned.time_channels[i].wide);
  }
  CHECK(reader.channels(Dimension::cycle).size() == 2);
  CHECK(reader.dimension("torque") == Dimension::cycle);
  CHECK(reader.channel("torque").unit == "N m");
  CHECK(reader.has("time"));
  CHECK_FALSE(reader.has("case_resolved"));
  CHECK_THROWS_AS(reader.read("no_such_channel"), Error);
}

TEST_CASE("trace: a range gives the rows there are and no others", "[sim][trace][limit]") {
  const ScratchFolder folder;
  const auto path = folder / "run.h5";
  write_whole(path, 3000, 2500);
  const TraceReader reader(path);
  const auto some = reader.read("main_flow", 1000, 50);
  REQUIRE(some.size() == 50);
  CHECK(some.front() == -1000.0);
  CHECK(some.back() == -1049.0);
  CHECK(reader.read("main_flow", 2490).size() == 10);
  CHECK(reader.read("main_flow", 2500).empty());
  CHECK(reader.read("main_flow", 9999, 3).empty());
  CHECK(reader.read("main_flow", 5, 0).empty());
  std::array<double, 20> room{};
  CHECK(reader.read_into("main_flow", 2495, room) == 5);
  CHECK(room[4] == -2499.0);
  CHECK(room[5] == 0.0);
}

TEST_CASE("trace: as many rows as planned, one fewer and one more are all whole", "[sim][trace][exact]") {
  const auto rows = GENERATE(std::size_t{2999}, std::size_t{3000}, std::size_t{3001});
  CAPTURE(rows);
  const ScratchFolder folder;
  write_whole(folder / "run.h5", 3000, rows);
  check_rows(TraceReader(folder / "run.h5"), rows);
}

TEST_CASE("trace: a reader sees the end of a run that stopped early before the file has its name",
          "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  TraceWriter writer(folder / "run.h5", false, sample_header(), sample_plan(200000, 2000));
  write_rows(writer, 0, 9000);
  writer.flush();
  TraceReader reader(folder / "run.h5.partial");
  REQUIRE(reader.rows() == 9000);
  std::ofstream(folder / "run.h5") << "in its place";  // so that the last step of finishing fails
  CHECK_THROWS_AS(writer.finish("complete", sample_summary), Error);
  reader.refresh();
  CHECK(reader.complete());
  check_rows(reader, 9000);
}

TEST_CASE("trace: summary numbers that were not planned are kept as well", "[sim][trace][exact]") {
  const ScratchFolder folder;
  const auto path = folder / "run.h5";
  TraceWriter writer(path, false, sample_header(), sample_plan(5000, 50));
  write_rows(writer, 0, 3210);
  std::vector<std::pair<std::string, double>> summary = sample_summary;
  for (int i = 0; i < 30; ++i) summary.emplace_back("extra_" + std::to_string(i), i);
  writer.finish("complete", summary);
  const TraceReader reader(path);
  CHECK(reader.complete());
  CHECK(reader.summary().size() == 31);
  check_rows(reader, 3210);
}

TEST_CASE("trace: room of a run that ended early is given back", "[sim][trace][limit]") {
  const ScratchFolder folder;
  write_whole(folder / "short.h5", 2000, 2000);
  write_whole(folder / "cut.h5", 1000000, 2000);
  // One chunk per column stays, a 64th of what was planned.
  CHECK(std::filesystem::file_size(folder / "cut.h5") < 1000000 * 20 / 16);
}

TEST_CASE("trace: the same run gives the same bytes", "[sim][trace][exact]") {
  const ScratchFolder folder;
  write_whole(folder / "one.h5", 5000, 3000);
  std::this_thread::sleep_for(std::chrono::milliseconds(1100));  // no time of day may be kept
  write_whole(folder / "two.h5", 5000, 3000);
  std::ifstream one(folder / "one.h5", std::ios::binary), two(folder / "two.h5", std::ios::binary);
  const std::string first{std::istreambuf_iterator<char>(one), {}},
      second{std::istreambuf_iterator<char>(two), {}};
  REQUIRE(first.size() == second.size());
  std::size_t different = 0, place = 0;
  for (std::size_t i = first.size(); i-- > 0;)
    if (first[i] != second[i]) ++different, place = i;
  INFO("the first of them at byte " << place);
  CHECK(different == 0);
}

TEST_CASE("trace: rows and names that do not fit the plan are refused", "[sim][trace][anomaly]") {
  const ScratchFolder folder;
  TraceWriter writer(folder / "run.h5", false, sample_header(), sample_plan(10, 1));
  const std::array<double, 2> two{};
  const std::array<double, 3> three{};
  CHECK_THROWS_AS(writer.time_row(0.0, two), std::invalid_argument);
  CHECK_THROWS_AS(writer.time_row(std::nan(""), three), std::invalid_argument);
  CHECK_THROWS_AS(writer.cycle_row(0.0, three), std::invalid_argument);
  TracePlan twice = sample_plan(10, 1);
  twice.cycle_channels.push_back(twice.time_channels.front());
  CHECK_THROWS_AS(TraceWriter(folder / "twice.h5", false, sample_header(), twice), std::invalid_argument);
  TracePlan scale = sample_plan(10, 1);
  scale.time_channels.front().name = "time";
  CHECK_THROWS_AS(TraceWriter(folder / "scale.h5", false, sample_header(), scale), std::invalid_argument);
  TracePlan spelled = sample_plan(10, 1);
  spelled.time_channels.front().name = "Manifold Pressure";
  CHECK_THROWS_AS(TraceWriter(folder / "spelled.h5", false, sample_header(), spelled), std::invalid_argument);
}

TEST_CASE("trace: a reader follows a run that goes on beside it", "[sim][trace][exact]") {
  const ScratchFolder folder;
  TraceWriter writer(folder / "run.h5", false, sample_header(), sample_plan(1000, 10));
  TraceReader reader(writer.partial_path());
  CHECK(reader.rows() == 0);
  CHECK(reader.status() == "running");
  CHECK(reader.summary().empty());
  write_rows(writer, 0, 300);
  writer.flush();
  CHECK(reader.rows() == 0);
  reader.refresh();
  check_rows(reader, 300);
  write_rows(writer, 300, 5000);  // beyond the room planned
  writer.flush();
  check_rows(reader, 300);
  reader.refresh();
  check_rows(reader, 5000);
  writer.finish("complete", sample_summary);
  check_rows(reader, 5000);
  reader.refresh();
  CHECK(reader.complete());
}

TEST_CASE("trace: an unfinished writer leaves all its rows in the partial file", "[sim][trace][limit]") {
  const ScratchFolder folder;
  std::filesystem::path partial;
  {
    TraceWriter writer(folder / "run.h5", false, sample_header(), sample_plan(5000, 50));
    write_rows(writer, 0, 1234);
    partial = writer.partial_path();
  }
  CHECK_FALSE(std::filesystem::exists(folder / "run.h5"));
  check_rows(TraceReader(partial), 1234);
}
