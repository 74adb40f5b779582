#include <signal.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <chrono>
#include <cstdlib>
#include <cstring>
#include <fstream>
#include <nlohmann/json.hpp>
#include <random>
#include <sstream>
#include <string>
#include <thread>
#include <vector>

#include "sim/api/trace.hpp"
#include "sim/points/point_journal.hpp"
#include "sim/trace/result_file.hpp"
#include "tests/cli/program.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;

int run(const CaseFolder& folder, const std::vector<std::string>& arguments) {
  return code_of(start_program(folder, arguments));
}

const std::vector<std::string> small_map{"map",        "bikes/goat_400", "--speeds", "2500, 4000 1/min",
                                         "--openings", "5, 30, 100 %"};

std::vector<std::string> with(std::vector<std::string> words, const std::vector<std::string>& more) {
  words.insert(words.end(), more.begin(), more.end());
  return words;
}

void check_same(const fs::path& a, const fs::path& b) {
  const ResultFile x = read_result_file(a), y = read_result_file(b);
  REQUIRE(x.variables.size() == y.variables.size());
  CHECK(x.inputs == y.inputs);
  CHECK(x.case_resolved == y.case_resolved);
  for (std::size_t i = 0; i < x.variables.size(); ++i) {
    const auto &p = x.variables[i].values, &q = y.variables[i].values;
    INFO(x.variables[i].name);
    REQUIRE(p.size() == q.size());
    CHECK(std::memcmp(p.data(), q.data(), p.size() * sizeof(double)) == 0);
  }
}

}  // namespace

TEST_CASE("studies: a map says its answer first, leaves study and charts, and repeats from its own file",
          "[cli]") {
  const CaseFolder folder;
  REQUIRE(run(folder, with(small_map, {"-o", "map.h5"})) == 0);
  const std::string out = text_in(folder / "out");
  CHECK_THAT(out, Catch::StartsWith("Verdict, as fitted: "));
  CHECK(out.find("Lambda under load") < out.find("In-cylinder lambda"));
  for (const auto* file : {"map.h5", "map-lambda_0m.svg", "map-lambda_0m.png", "map-torque.svg"})
    CHECK(fs::exists(folder / file));
  CHECK_FALSE(fs::exists(folder / "map.h5.points"));
  const ResultFile file = read_result_file(folder / "map.h5");
  CHECK(file.status == "complete");
  CHECK(file.variable("lambda_trapped").values.size() == 6);

  CHECK(run(folder, with(small_map, {"-o", "map.h5"})) == 2);
  CHECK_THAT(text_in(folder / "err"), Catch::Contains("--force"));
  REQUIRE(run(folder, {"repeat", "map.h5", "-o", "again.h5", "--no-charts"}) == 0);
  check_same(folder / "map.h5", folder / "again.h5");
  CHECK_FALSE(fs::exists(folder / "again-torque.svg"));

  // One bit of one number.
  std::string bytes = text_in(folder / "map.h5");
  const double lambda = file.variable("lambda_trapped").values[3];
  const auto at = bytes.find(std::string(reinterpret_cast<const char*>(&lambda), sizeof lambda));
  REQUIRE(at != std::string::npos);
  bytes[at + 5] = static_cast<char>(bytes[at + 5] ^ 4);
  folder.write("flipped.h5", bytes);
  CHECK(run(folder, {"repeat", "flipped.h5"}) == 1);
  CHECK(text_in(folder / "out").empty());
  CHECK(text_in(folder / "err") ==
        "glassbowl: flipped.h5: is damaged or cut short: it differs from what was written\n");
  CHECK_FALSE(fs::exists(folder / "flipped-again.h5"));
}

TEST_CASE("studies: killed or interrupted five times at random and started again, the answer is the same",
          "[cli]") {
  const CaseFolder folder;
  REQUIRE(run(folder, with(small_map, {"-o", "whole.h5", "--no-charts"})) == 0);
  std::mt19937 random(20240611);
  for (int round = 0; round < 5; ++round) {
    const pid_t child =
        start_program(folder, with(small_map, {"-o", "map.h5", "--no-charts", "--threads", "1"}));
    std::this_thread::sleep_for(std::chrono::milliseconds(50 + random() % 500));
    const int signal = round % 2 == 0 ? SIGKILL : SIGINT;
    kill(child, signal);
    const int code = code_of(child);
    if (fs::exists(folder / "map.h5")) {  // a fast machine was done before the signal came
      CHECK((code == 0 || code == 128 + SIGKILL));
      break;
    }
    CHECK(code == (signal == SIGKILL ? 128 + SIGKILL : 1));
    if (signal == SIGINT) CHECK_THAT(text_in(folder / "err"), Catch::Contains("finished points are kept"));
  }
  if (!fs::exists(folder / "map.h5"))
    REQUIRE(run(folder, with(small_map, {"-o", "map.h5", "--no-charts"})) == 0);
  check_same(folder / "whole.h5", folder / "map.h5");
}

TEST_CASE("studies: finished points of another request are not lost", "[cli]") {
  const CaseFolder folder;
  const std::vector<std::string> other{
      "map", "bikes/goat_400", "--speeds", "3000 1/min", "--openings", "20 %", "-o", "map.h5", "--no-charts"};
  REQUIRE(run(folder, with(other, {"--set", "carburetor.main.jet.bore=1.2 mm"})) == 0);
  CHECK_FALSE(fs::exists(folder / "map.h5.points"));
  { PointJournal(folder / "map.h5.points").keep("of another request", {{1.0}}); }
  REQUIRE(run(folder, with(other, {"--force"})) == 0);
  CHECK_THAT(text_in(folder / "out"),
             Catch::Contains("1 finished point of another request stays in map.h5.points"));
  CHECK(PointJournal(folder / "map.h5.points").find("of another request"));
}

TEST_CASE("studies: wrong use is refused with what would do", "[cli]") {
  const CaseFolder folder;
  const auto refused = [&](const std::vector<std::string>& words, const char* said) {
    CHECK(run(folder, words) == 2);
    CHECK_THAT(text_in(folder / "err"), Catch::Contains(said));
  };
  refused({"map", "bikes/goat_400", "--speeds", "3 mm"}, "is a length");
  refused({"map", "bikes/goat_400", "--openings", "140 %"}, "outside");
  refused({"map", "bikes/goat_400", "--speeds", "3000"},
          "--speeds \"3000\": \"3000\" has no unit; an angular speed is needed, such as \"3000 rpm\"");
  refused({"map", "bikes/goat_400", "--openings", "5 %, 0.5"},
          "--openings \"5 %, 0.5\": \"0.5\" has no unit");
  refused({"map", "bikes/goat_400", "--speeds", ""}, "--speeds \"\": no value is given; write for example");
  refused({"map", "bikes/goat_400", "--altitudes", " , "}, "no value is given");
  refused({"map", "bikes/goat_400", "--set", "carburetor.main.jet.bor=1 mm"}, "bore");
  refused({"jets", "bikes/goat_400", "--try", "needle_raised=1 mm"}, "main_jet");
  refused({"jets", "bikes/goat_400", "--target", "top=0.9"}, "small, part and full");
  refused({"jets", "bikes/goat_400", "--target", "full=13"},
          "Give lambda, such as \"full=0.87\", or the air-fuel");
  refused({"jets", "bikes/goat_400", "--target", "full=20:1"}, "outside 0.72 to 1.05");
  refused({"jets", "bikes/goat_400", "--try", "main_jet="}, "--try \"main_jet=\": no value is given");
  refused({"jets", "bikes/goat_400", "--try", "main_jet=1.1, 9 mm"},
          "--try main_jet: 9 mm is outside 0.1 mm to 6 mm");
  refused({"jets", "bikes/goat_400", "--try", "main_jet=1.1"},
          "--try \"main_jet=1.1\": \"1.1\" has no unit; a length is needed, such as \"1.1 mm\"");
  refused({"jets", "bikes/goat_400", "--after", "engine.borre=80 mm"}, "bore");
  refused({"blips", "bikes/goat_400", "--variant", "x: carburetor.pum.fitted=false"}, "pum");
  refused({"blips", "bikes/goat_400", "--variant", "no pump"}, "--variant \"no pump\": write for example");
  refused({"blips", "bikes/goat_400", "--speeds", "3000"}, "--speeds");
  refused({"overlap", "bikes/goat_400", "--altitudes", "0, 2700 m"}, "one altitude");
  refused({"map", "bikes/got_400"}, "no such file");
  refused({"map", "goat_400"}, "did you mean \"bikes/goat_400\"?");
  refused({"map", "bikes/goat_400", "-o", "missing/map.h5"},
          "missing/map.h5: the folder missing does not exist");
  refused({"repeat", "nothing.h5"}, "there is no such file");
  for (const auto& entry : fs::directory_iterator(folder / "")) CHECK(entry.path().extension() != ".points");
}

TEST_CASE("studies: a sheet in PDF is refused at once where nothing can print it", "[cli]") {
  const CaseFolder folder;
  const std::string path = std::getenv("PATH");
  setenv("PATH", "/nonexistent", 1);
  const int code = run(folder, {"sheet", "bikes/goat_400", "--pdf"});
  setenv("PATH", path.c_str(), 1);
  CHECK(code == 1);
  CHECK_THAT(text_in(folder / "err"), Catch::Contains("package chromium"));
  CHECK_FALSE(fs::exists(folder / "goat_400-sheet.h5.points"));
}

TEST_CASE("studies: a study's file may ask for no more than the command line", "[cli]") {
  const CaseFolder folder;
  REQUIRE(run(folder, {"map", "bikes/goat_400", "--speeds", "3000 rpm", "--openings", "20 %", "-o", "map.h5",
                       "--no-charts"}) == 0);
  const ResultFile sound = read_result_file(folder / "map.h5");
  const auto refused = [&](const char* name, const nlohmann::json& value, const char* said) {
    ResultFile asked = sound;
    auto inputs = nlohmann::json::parse(sound.inputs);
    inputs[name] = value;
    asked.inputs = inputs.dump();
    write_result_file(folder / "asked.h5", true, asked);
    CAPTURE(name, value.dump().substr(0, 60));
    CHECK(run(folder, {"repeat", "asked.h5", "-o", "again.h5", "--no-charts"}) == 2);
    CHECK_THAT(text_in(folder / "err"), Catch::Contains("asked.h5: ") && Catch::Contains(said));
    CHECK_FALSE(fs::exists(folder / "again.h5"));
    CHECK_FALSE(fs::exists(folder / "again.h5.points"));
  };
  ResultFile broken = sound;
  broken.inputs = "{\"study\": \"map\", ";
  write_result_file(folder / "asked.h5", true, broken);
  CHECK(run(folder, {"repeat", "asked.h5", "-o", "again.h5", "--no-charts"}) == 1);
  CHECK_THAT(text_in(folder / "err"), Catch::Contains("asked.h5: ") && Catch::Contains("no JSON text") &&
                                          !Catch::Contains("json.exception") &&
                                          !Catch::Contains("parse_error"));
  auto inputs = nlohmann::json::parse(sound.inputs);
  inputs["openings"] = "wide";
  broken.inputs = inputs.dump();
  write_result_file(folder / "asked.h5", true, broken);
  CHECK(run(folder, {"repeat", "asked.h5", "-o", "again.h5", "--no-charts"}) == 1);
  CHECK_THAT(text_in(folder / "err"),
             Catch::Contains("asked.h5: ") && Catch::Contains("\"openings\" has a value of the wrong kind"));
  std::vector<double> many;
  for (int i = 0; i < 3000; ++i) many.push_back(100.0 + 0.1 * i);
  refused("speeds_rad_s", many, "3000 values");
  refused("speeds_rad_s", {0.0, 1e-300}, "--speeds");
  refused("openings", {-5.0}, "--openings");
  refused("openings", {1e10}, "--openings");
  refused("tries_SI", {{"wishbone", {1e-3}}}, "wishbone");
  refused("most_cycles", 1e300, "accuracy");
}

TEST_CASE("studies: with any standard stream closed the files are as they should be", "[cli]") {
  const CaseFolder folder;
  REQUIRE(run(folder, {"map", "bikes/goat_400", "--speeds", "3000 rpm", "--openings", "20 %", "-o", "map.h5",
                       "--no-charts"}) == 0);
  for (int closed = 1; closed < 8; ++closed) {
    std::string how;
    for (const auto& [bit, text] : {std::pair{1, " <&-"}, std::pair{2, " >&-"}, std::pair{4, " 2>&-"}})
      how += (closed & bit) != 0 ? text : "";
    CAPTURE(how);
    const auto shell = [&](const std::string& words) {
      const pid_t child = fork();
      if (child == 0) {
        if (chdir((folder / "").c_str()) != 0) _exit(126);
        for (const int stream : {1, 2}) dup2(open("/dev/null", O_WRONLY), stream);
        const std::string line = std::string("exec '") + GLASSBOWL_PROGRAM + "' " + words + how;
        execl("/bin/sh", "sh", "-c", line.c_str(), nullptr);
        _exit(127);
      }
      return code_of(child);
    };
    // What cannot be printed is a failure, but no crash and no damage.
    const int wanted = (closed & 2) != 0 ? 1 : 0;
    CHECK(shell("repeat map.h5 -o again.h5 --no-charts --force") == wanted);
    check_same(folder / "map.h5", folder / "again.h5");
    CHECK(shell("run blip --set load.kind=held_speed --set load.speed=3000rpm --set run.duration=0.1s -o "
                "run.h5 --force") == wanted);
    CHECK(TraceReader(folder / "run.h5").complete());
    CHECK(shell("run run.h5 -o second.h5 --force") == wanted);
    CHECK(TraceReader(folder / "second.h5").complete());
  }
}

}  // namespace glassbowl::sim
