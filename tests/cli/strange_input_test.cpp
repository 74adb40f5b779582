#include <signal.h>
#include <sys/stat.h>

#include <catch2/catch.hpp>
#include <chrono>
#include <thread>

#include "sim/api/terminal_text.hpp"
#include "tests/cli/program.hpp"

namespace glassbowl::sim {
namespace {

/// A title that clears the screen, in every way there is.
const char* const hostile = R"(
title = "a\u001B[2J\u009B2J\u202Eb\nNote: forged"
note = "\u009B\u2066"
base = "bikes/mule_750"
[load]
kind = "held_speed"
speed = "3000 rpm"
[rider]
throttle = "30 %"
[run]
duration = "0.05 s"
)";

/// All that was printed is fit for a terminal, and no line but ours begins as ours do.
void check_fit(const Outcome& result) {
  CHECK(terminal_text(result.out) == result.out);
  CHECK(terminal_text(result.err) == result.err);
  CHECK_THAT(result.out + result.err, !Catch::Contains("\nNote: forged"));
}

}  // namespace

TEST_CASE("strange input: nothing that is printed steers the terminal", "[cli][anomaly]") {
  const CaseFolder folder;
  folder.write("t\u009bx\x1b[2Jy.toml", hostile);
  folder.write("mine.toml", hostile);
  const std::string strange = "t\u009bx\x1b[2Jy.toml";
  for (const auto& words : std::vector<std::vector<std::string>>{
           {"run", "mine.toml", "--no-sensitivity"},
           {"run", strange, "-o", "s\u202e.h5", "--no-sensitivity"},
           {"run", "mine.toml", "--no-trace", "--json"},
           {"run", "s\u202e.h5", "--no-trace", "--no-sensitivity"},
           {"check", strange, "--no-computation"},
           {"check", "s\u202e.h5", "--no-computation"},
           {"list", "channels", strange},
           {"map", strange, "--speeds", "3000 rpm", "--openings", "30 %", "--no-charts", "-o", "m.h5"},
           {"repeat", "m.h5", "--no-charts"},
           {"blips", "mine.toml", "--variant", "x\u009b\x1b[2J\u202ey: float.level=-3 mm", "--no-charts"},
       }) {
    CAPTURE(words);
    const auto result = run_program(folder, words);
    INFO(result.err);
    CHECK(result.code == 0);
    CHECK_FALSE(result.out.empty());
    check_fit(result);
  }
  for (const auto& words :
       std::vector<std::vector<std::string>>{{"run", "no\u009b\x1b[2J\u202e.toml"},
                                             {"run", "mine.toml", "--\u009b"},
                                             {"\u009b\u202e"},
                                             {"repeat", "no\u202e.h5"},
                                             {"check", "mine.toml", "--set", "a\u009b\u202e=1"},
                                             {"map", "mine.toml", "--speeds", "\u009b\u202e"},
                                             {"map", "mine.toml", "-o", "no\u009b/x.h5"}}) {
    CAPTURE(words);
    const auto result = run_program(folder, words);
    CHECK(result.code == 2);
    check_fit(result);
  }
}

TEST_CASE("strange input: a FIFO, device or folder as any input is refused at once", "[cli][anomaly]") {
  const CaseFolder folder;
  folder.write("based.toml", "base = \"pipe.toml\"\n");
  REQUIRE(mkfifo((folder / "pipe").c_str(), 0600) == 0);
  REQUIRE(mkfifo((folder / "pipe.toml").c_str(), 0600) == 0);
  std::filesystem::create_directory(folder / "place");
  for (const std::string name : {"pipe", "pipe.toml", "place", "/dev/zero", "/dev/tty", "based.toml"})
    for (auto words : std::vector<std::vector<std::string>>{{"run"},
                                                            {"check"},
                                                            {"list", "channels"},
                                                            {"map"},
                                                            {"overlap"},
                                                            {"blips"},
                                                            {"jets"},
                                                            {"sheet"},
                                                            {"repeat"},
                                                            {"compare", "bikes/goat_400"},
                                                            {"altitude", "bikes/goat_400", "--beside"}}) {
      words.push_back(name);
      CAPTURE(words);
      const pid_t child = start_program(folder, words);
      std::jthread guard([child](const std::stop_token& over) {  // a hang is a failure, not a wait
        for (int i = 0; i < 300 && !over.stop_requested(); ++i)
          std::this_thread::sleep_for(std::chrono::milliseconds(100));
        if (!over.stop_requested()) kill(child, SIGKILL);
      });
      CHECK(code_of(child) == 2);
      guard.request_stop();
      CHECK_THAT(text_in(folder / "err"),
                 Catch::Contains("this is a FIFO") || Catch::Contains("this is a device") ||
                     Catch::Contains("this is a folder") || Catch::Contains("cannot be read") ||
                     Catch::Contains("not a study"));
    }
}

TEST_CASE("strange input: the first interrupt is honoured, whatever is under way", "[cli][anomaly]") {
  const CaseFolder folder;
  folder.write("mine.toml", hostile);
  for (const auto& words : std::vector<std::vector<std::string>>{
           {"run", "mine.toml", "--set", "run.settle=600 s"},
           {"run", "mine.toml", "-o", "long.h5", "--set", "run.duration=6000 s", "run.trace_interval=100 ms"},
           {"run", "mine.toml", "--no-trace", "--set", "run.duration=6000 s"},
           {"map", "bikes/mule_750"},
           {"jets", "bikes/mule_750"},
           {"check", "mine.toml", "--every-value"}}) {
    CAPTURE(words);
    const pid_t child = start_program(folder, words);
    std::this_thread::sleep_for(std::chrono::milliseconds(400));
    const auto asked = std::chrono::steady_clock::now();
    kill(child, SIGINT);
    const int code = code_of(child);
    CHECK((code == 1 || code == 128 + SIGINT));
    CHECK(std::chrono::steady_clock::now() - asked <
          std::chrono::seconds(20));  // many tests at once are slow
  }
}

}  // namespace glassbowl::sim
