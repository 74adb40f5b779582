#include <fcntl.h>
#include <sys/resource.h>
#include <sys/stat.h>
#include <sys/sysmacros.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <csignal>
#include <fstream>
#include <functional>
#include <sstream>
#include <string>
#include <vector>

#include "sim/api/trace.hpp"
#include "sim/trace/result_file.hpp"
#include "tests/sim/cases/case_folder.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;
using Words = std::vector<std::string>;

std::string text_of(const fs::path& file) {
  std::ostringstream out;
  out << std::ifstream(file, std::ios::binary).rdbuf();
  return out.str();
}

/// The program in a folder of its own; what it prints goes elsewhere, so that names there are its outputs.
class Workshop {
 public:
  Workshop() { folder_.write("work/short.toml", short_run); }

  fs::path operator/(const std::string& name) const { return folder_ / ("work/" + name); }
  void write(const std::string& name, const std::string& text) const { folder_.write("work/" + name, text); }

  pid_t start(
      Words words, const std::function<void()>& prepare = [] {}) const {
    const pid_t child = fork();
    if (child != 0) return child;
    words.insert(words.begin(), GLASSBOWL_PROGRAM);
    std::vector<char*> argv;
    for (auto& word : words) argv.push_back(word.data());
    argv.push_back(nullptr);
    dup2(open((folder_ / "out").c_str(), O_CREAT | O_TRUNC | O_WRONLY, 0600), STDOUT_FILENO);
    dup2(open((folder_ / "err").c_str(), O_CREAT | O_TRUNC | O_WRONLY, 0600), STDERR_FILENO);
    if (chdir((*this / "").c_str()) != 0) _exit(126);
    prepare();
    alarm(60);  // what waits for a pipe would do so for ever
    execv(GLASSBOWL_PROGRAM, argv.data());
    _exit(127);
  }

  static int wait_for(pid_t child) {
    int status = 0;
    waitpid(child, &status, 0);
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  }

  int run(
      const Words& words, const std::function<void()>& prepare = [] {}) const {
    return wait_for(start(words, prepare));
  }

  std::string error() const { return text_of(folder_ / "err"); }

  /// Refused before anything is done: exit code 2, the file named, nothing new in the folder.
  void refuses(const Words& words, const std::string& said) const {
    const auto before = names();
    std::string given;
    for (const auto& word : words) given += word + " ";
    INFO(given);
    CHECK(run(words) == 2);
    CHECK_THAT(error(), Catch::Contains(said));
    CHECK(names() == before);
  }

  Words names() const {
    Words all;
    for (const auto& entry : fs::directory_iterator(*this / "")) all.push_back(entry.path().filename());
    std::sort(all.begin(), all.end());
    return all;
  }

 private:
  static constexpr const char* short_run = R"(
title = "Short test run"
base = "bikes/mule_750.toml"
[load]
kind = "held_speed"
speed = "3000 1/min"
[rider]
throttle = "30 %"
[run]
duration = "0.1 s"
)";
  CaseFolder folder_;
};

Words small_map(const std::string& source, const Words& more) {
  Words words{"map", source, "--speeds", "4000 1/min", "--openings", "30, 100 %"};
  words.insert(words.end(), more.begin(), more.end());
  return words;
}

}  // namespace

TEST_CASE("outputs: no name of a case or an output is run as a command", "[cli]") {
  const Workshop shop;
  for (const std::string stem :
       {"|touch mark;", "<touch mark", "$(touch mark)", "`touch mark`", "'\"\n", "-p"}) {
    CAPTURE(stem);
    fs::copy_file(shop / "short.toml", shop / (stem + ".toml"));
    CHECK(shop.run(small_map("./" + stem + ".toml", {})) == 0);
    CHECK(fs::exists(shop / (stem + "-map-torque.png")));
    CHECK(shop.run(small_map("short.toml", {"--output=" + stem + "x.h5"})) == 0);
    CHECK(fs::exists(shop / (stem + "x-torque.svg")));
  }
  CHECK_FALSE(fs::exists(shop / "mark"));
}

TEST_CASE("outputs: charts and links are refused before a study begins", "[cli]") {
  const Workshop shop;
  shop.write("map-torque.svg", "mine");
  shop.refuses(small_map("short.toml", {"-o", "map.h5"}), "map-torque.svg: is there already");
  CHECK(shop.run(small_map("short.toml", {"-o", "map.h5", "--no-charts"})) == 0);
  CHECK(text_of(shop / "map-torque.svg") == "mine");
  CHECK(shop.run(small_map("short.toml", {"-o", "map.h5", "--force"})) == 0);
  CHECK(text_of(shop / "map-torque.svg") != "mine");

  shop.write("victim", "mine");
  for (const std::string name : {"l.h5", "l-lambda_0m.png", "l.h5.points"}) {
    fs::create_symlink("victim", shop / name);
    for (const bool force : {false, true})
      shop.refuses(small_map("short.toml", force ? Words{"-o", "l.h5", "--force"} : Words{"-o", "l.h5"}),
                   name + ": is a link");
    fs::remove(shop / name);
  }
  for (const std::string name : {"s.html", "s.pdf"}) {
    fs::create_symlink("nowhere", shop / name);
    shop.refuses({"sheet", "short.toml", "-o", "s.h5", "--pdf", "--force"}, name + ": is a link");
    fs::remove(shop / name);
  }
  shop.refuses({"sheet", "short.toml", "-o", "s.html"}, "two outputs");
  CHECK(text_of(shop / "victim") == "mine");
  CHECK_FALSE(fs::exists(shop / "nowhere"));
}

TEST_CASE("outputs: what is no file is neither replaced nor waited for", "[cli]") {
  const Workshop shop;
  REQUIRE(mkfifo((shop / "pipe").c_str(), 0600) == 0);
  std::vector<std::string> names{"pipe"};
  if (mknod((shop / "device").c_str(), S_IFCHR | 0600, makedev(1, 3)) == 0) names.emplace_back("device");
  fs::create_directory(shop / "folder");
  names.emplace_back("folder");
  for (const auto& name : names)
    for (const Words& words : {Words{"run", "short.toml", "--force", "-o", name},
                               Words{"run", "short.toml", "--force", "--no-trace", "--csv", name},
                               small_map("short.toml", {"--force", "-o", name})})
      shop.refuses(words, name + ": is a ");
  for (const std::string name : {"a.h5.partial", "a.csv.partial", "a.h5.points"}) {
    REQUIRE(mkfifo((shop / name).c_str(), 0600) == 0);
    if (name.ends_with("points"))
      shop.refuses(small_map("short.toml", {"--force", "-o", "a.h5"}), name + ": is a pipe");
    else
      shop.refuses({"run", "short.toml", "-o", "a.h5", "--csv", "a.csv", "--force"}, name + ": is a pipe");
    fs::remove(shop / name);
  }
}

TEST_CASE("outputs: a refused table leaves no trace, and two outputs have two names", "[cli]") {
  const Workshop shop;
  shop.write("a.csv", "mine");
  shop.refuses({"run", "short.toml", "--csv", "a.csv"}, "a.csv: is there already");
  shop.refuses({"run", "short.toml", "--csv", "nowhere/a.csv"}, "does not exist");
  shop.refuses({"run", "short.toml", "-o", "x", "--csv", "x", "--force"}, "two outputs");
  shop.refuses({"run", "short.toml", "-o", "x", "--csv", "./x.partial", "--force"}, "two outputs");
  CHECK(shop.run({"run", "short.toml", "--csv", "b.csv"}) == 0);
  CHECK(TraceReader(shop / "short.h5").complete());
}

TEST_CASE("outputs: blips use no temporary file", "[cli]") {
  const Workshop shop;
  const auto nowhere = [] { setenv("TMPDIR", "/nonexistent", 1); };
  CHECK(shop.run(
            {"blips", "bikes/goat_400", "--variant", "no pump: carburetor.pump.fitted=false", "-o", "b.h5"},
            nowhere) == 0);
  CHECK(read_result_file(shop / "b.h5").variable("leanest_lambda").values.size() > 0);
}

TEST_CASE("outputs: a sheet without charts needs nothing that draws", "[cli]") {
  const Workshop shop;
  const auto bare = [] { setenv("PATH", "/nonexistent", 1); };
  const Words sheet{"sheet",      "short.toml", "--speeds", "4000 1/min",
                    "--openings", "30, 100 %",  "--try",    "main_jet=1.6, 1.675 mm",
                    "-o",         "s.h5"};
  CHECK(shop.run(sheet, bare) == 1);
  CHECK_THAT(shop.error(), Catch::Contains("gnuplot-nox"));
  CHECK(shop.names() == Words{"short.toml"});
  Words without = sheet;
  without.emplace_back("--no-charts");
  CHECK(shop.run(without, bare) == 0);
  const std::string page = text_of(shop / "s.html");
  CHECK_THAT(page,
             Catch::Contains("<h2>Settings") && !Catch::Contains("<svg") && !Catch::Contains("<h2>Charts"));
  CHECK(shop.names() == Words{"s.h5", "s.html", "short.toml"});
}

TEST_CASE("outputs: a study whose files may not grow ends with one message, and goes on from its points",
          "[cli]") {
  const Workshop shop;
  const auto command = small_map("short.toml", {"-o", "map.h5", "--no-charts"});
  REQUIRE(shop.run(command) == 0);
  const auto size = fs::file_size(shop / "map.h5");
  fs::remove(shop / "map.h5");
  for (int part = 1; part < 8; ++part) {
    CAPTURE(part);
    const auto limited = [&] {
      const rlimit limit{std::max<rlim_t>(2000, size * part / 8), RLIM_INFINITY};
      setrlimit(RLIMIT_FSIZE, &limit);
    };
    CHECK(shop.run(command, limited) == 1);
    CHECK_THAT(shop.error(), Catch::StartsWith("glassbowl: map.h5: cannot be written: File too large") &&
                                 Catch::Contains("map.h5.points"));
    CHECK(shop.names() == Words{"map.h5.points", "short.toml"});
  }
  CHECK(shop.run(command) == 0);
  CHECK(shop.names() == Words{"map.h5", "short.toml"});
}

TEST_CASE("outputs: closed standard streams neither end the program nor get into a file", "[cli]") {
  const Workshop shop;
  const auto with_closed = [&](const Words& words, const std::vector<int>& streams) {
    return shop.run(words, [&] {
      for (const int stream : streams) close(stream);
    });
  };
  CHECK(with_closed({"run", "short.toml", "--force"}, {2}) == 0);
  CHECK(with_closed({"run", "short.toml", "--force"}, {0, 2}) == 0);
  for (const std::vector<int>& streams : {std::vector<int>{1}, {1, 2}, {0, 1, 2}}) {
    CHECK(with_closed({"run", "short.toml", "--force"}, streams) == 1);  // the summary is lost
    CHECK(TraceReader(shop / "short.h5").complete());
    CHECK(with_closed(small_map("short.toml", {"-o", "map.h5", "--force"}), streams) == 1);
    CHECK(read_result_file(shop / "map.h5").status == "complete");
  }
  CHECK(with_closed({"repeat", "map.h5", "--no-charts"}, {0}) == 0);
}

TEST_CASE("outputs: of runs that race for one name, one wins or each replaces the whole", "[cli]") {
  const Workshop shop;
  const auto rows_of = [&](int run) {
    return static_cast<std::size_t>(400 + 200 * run) + 1;
  };  // every 0.1 ms
  for (const bool force : {false, true})
    for (int trial = 0; trial < 6; ++trial) {
      CAPTURE(force, trial);
      std::vector<pid_t> runs;
      for (int run = 0; run < 3; ++run) {
        Words words{"run",   "short.toml", "-o",    "race.h5",
                    "--csv", "race.csv",   "--set", "run.duration=" + std::to_string(40 + 20 * run) + " ms"};
        if (force) words.emplace_back("--force");
        runs.push_back(shop.start(words));
      }
      int won = 0;
      for (const pid_t run : runs) {
        const int code = Workshop::wait_for(run);
        CHECK((code == 0 || code == 1 || code == 2));
        won += code == 0;
      }
      CHECK(won >= 1);
      if (!force) CHECK(won == 1);
      const TraceReader trace(shop / "race.h5");
      CHECK(trace.complete());
      CHECK((trace.rows() == rows_of(0) || trace.rows() == rows_of(1) || trace.rows() == rows_of(2)));
      CHECK(shop.names() == Words{"race.csv", "race.h5", "short.toml"});
      fs::remove(shop / "race.h5");
      fs::remove(shop / "race.csv");
    }
}

}  // namespace glassbowl::sim
