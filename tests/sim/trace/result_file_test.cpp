#include <sys/resource.h>

#include <catch2/catch.hpp>
#include <cmath>
#include <csignal>
#include <fstream>

#include "sim/api/error.hpp"
#include "sim/output/disk_file.hpp"
#include "sim/trace/result_file.hpp"
#include "sim/trace/seal.hpp"
#include "tests/sim/cases/case_folder.hpp"

namespace glassbowl::sim {
namespace {

ResultFile sample() {
  ResultFile r;
  r.title = "Sample";
  r.version = "0";
  r.study = "map";
  r.inputs = "{}";
  r.case_resolved = "title = \"Müll\"";
  r.axes = {{"speed", "rad/s", "crank speed", {100.0, 200.0}}, {"throttle", "1", "opening", {0.0, 0.5, 1.0}}};
  r.variables = {{"lambda", "1", "mixture", {"speed", "throttle"}, {0.8, 0.9, NAN, 1.0, 1.1, 1.2}},
                 {"best", "1", "one number", {}, {0.25}}};
  r.texts = {{"name", "words along speed", "speed", {"slow", "fäst"}}};
  return r;
}

}  // namespace

TEST_CASE("study file: everything comes back, with units and axes", "[sim][studies]") {
  const CaseFolder folder;
  write_result_file(folder / "a.h5", false, sample());
  const ResultFile back = read_result_file(folder / "a.h5");
  const ResultFile r = sample();
  CHECK(back.study == "map");
  CHECK(back.title == "Sample");
  CHECK(back.status == "complete");
  CHECK(back.inputs == r.inputs);
  CHECK(back.case_resolved == r.case_resolved);
  CHECK(back.axis("throttle").values == r.axes[1].values);
  CHECK(back.axis("speed").unit == "rad/s");
  CHECK(back.variable("lambda").axes == r.variables[0].axes);
  CHECK(back.variable("lambda").long_name == "mixture");
  CHECK(std::isnan(back.variable("lambda").values[2]));
  CHECK(back.variable("lambda").values[5] == 1.2);
  CHECK(back.variable("best").values == std::vector<double>{0.25});
  CHECK(back.text("name").values == r.texts[0].values);
  CHECK(back.text("name").axis == "speed");
  CHECK_THROWS_AS(back.variable("nothing"), std::invalid_argument);
  CHECK(is_result_file(folder / "a.h5"));
}

TEST_CASE("study file: nothing is replaced unless forced, nothing half written is left", "[sim][studies]") {
  const CaseFolder folder;
  write_result_file(folder / "a.h5", false, sample());
  CHECK_THROWS_WITH(write_result_file(folder / "a.h5", false, sample()), Catch::Contains("--force"));
  CHECK_NOTHROW(write_result_file(folder / "a.h5", true, sample()));
  auto wrong = sample();
  wrong.variables[0].values.pop_back();
  CHECK_THROWS_AS(write_result_file(folder / "b.h5", false, wrong), std::invalid_argument);
  CHECK_THROWS_AS(write_result_file(folder / "nowhere" / "b.h5", false, sample()), Error);
  CHECK_FALSE(std::filesystem::exists(folder / "b.h5"));
}

TEST_CASE("study file: a file that may not grow, or a full disk, costs one error and nothing else",
          "[sim][studies]") {
  const CaseFolder folder;
  write_result_file(folder / "whole.h5", false, sample());
  const auto size = static_cast<rlim_t>(std::filesystem::file_size(folder / "whole.h5"));
  auto* const before = std::signal(SIGXFSZ, SIG_IGN);
  rlimit free_of_limit{};
  ::getrlimit(RLIMIT_FSIZE, &free_of_limit);
  for (rlim_t part = 0; part < 24; ++part) {
    CAPTURE(part);
    const rlimit limit{size * part / 24, free_of_limit.rlim_max};
    ::setrlimit(RLIMIT_FSIZE, &limit);
    std::string said;
    try {
      write_result_file(folder / "whole.h5", true, sample());
    } catch (const Error& error) {
      said = error.what();
    }
    ::setrlimit(RLIMIT_FSIZE, &free_of_limit);
    CHECK_THAT(said, Catch::Contains("whole.h5: cannot be written: File too large"));
  }
  std::signal(SIGXFSZ, before);
  CHECK(read_result_file(folder / "whole.h5").status == "complete");
  CHECK(std::distance(std::filesystem::directory_iterator(folder / ""), {}) == 1);
  write_result_file(folder / "after.h5", false, sample());  // and the library goes on
  CHECK(read_result_file(folder / "after.h5").status == "complete");
}

TEST_CASE("study file: each flipped bit of the whole file is noticed", "[sim][studies][anomaly]") {
  const CaseFolder folder;
  const auto path = folder / "a.h5";
  write_result_file(path, false, sample());
  CHECK(check_seal(path) == Seal::sound);
  const DiskFile file(path);
  const auto flip = [&](std::uint64_t at, int bit) {
    unsigned char byte = 0;
    file.read_at(&byte, 1, static_cast<off_t>(at));
    byte = static_cast<unsigned char>(byte ^ 1U << bit);
    file.write_at(&byte, 1, static_cast<off_t>(at));
  };
  std::uint64_t unseen = 0, tried = 0;
  for (std::uint64_t at = 0; at < file.size(); ++at)
    for (int bit = 0; bit < 8; ++bit, ++tried) {
      flip(at, bit);
      try {
        read_result_file(path);
        ++unseen;
      } catch (const Error& failure) {
        unseen += failure.kind() != ErrorKind::file ||
                  std::string(failure.what()).find("is damaged") == std::string::npos;
      }
      flip(at, bit);
    }
  CHECK(unseen == 0);
  CHECK(tried > 8 * sizeof(double) * 6);
  CHECK(read_result_file(path).variable("lambda").values[5] == 1.2);  // and whole again
}

TEST_CASE("study file: a file cut short is refused, and one without a seal is read",
          "[sim][studies][anomaly]") {
  const CaseFolder folder;
  const auto path = folder / "a.h5";
  write_result_file(path, false, sample());
  const auto whole = std::filesystem::file_size(path);
  for (const auto length : {whole - 1, whole - 31, whole - 33, whole / 2}) {
    std::filesystem::copy_file(path, folder / "cut.h5", std::filesystem::copy_options::overwrite_existing);
    std::filesystem::resize_file(folder / "cut.h5", length);
    INFO(length << " of " << whole);
    CHECK_THROWS_AS(read_result_file(folder / "cut.h5"), Error);
  }
  std::filesystem::resize_file(path, whole - 32);  // as older studies are
  CHECK(read_result_file(path).title == "Sample");
}

TEST_CASE("study file: other files are told apart", "[sim][studies]") {
  const CaseFolder folder;
  const auto text = folder.write("a.txt", "no study");
  CHECK_FALSE(is_result_file(text));
  CHECK_THROWS_AS(read_result_file(text), Error);
  CHECK_THROWS_WITH(read_result_file(folder / "b.h5"), Catch::Contains("no such file"));
}

}  // namespace glassbowl::sim
