#include <sys/stat.h>
#include <sys/wait.h>
#include <unistd.h>

#include <catch2/catch.hpp>
#include <cstdlib>
#include <fstream>
#include <functional>
#include <iterator>
#include <optional>
#include <set>

#include "sim/api/own_folder.hpp"
#include "tests/viz/pixels.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/export.hpp"
#include "viz/lessons/folder.hpp"
#include "viz/page/handout.hpp"
#include "viz/page/page.hpp"
#include "viz/sound/wave_file.hpp"
#include "viz/source/trace_source.hpp"
#include "viz/start/recent.hpp"

namespace glassbowl::viz {
namespace {

namespace fs = std::filesystem;

/// An empty folder that is the present one, and the one for temporary files, as long as it lives.
class Place {
 public:
  Place() : before_(fs::current_path()) {
    if (const char* old = std::getenv("TMPDIR")) temporary_ = old;
    folder_ = RunFiles::folder() / "place";
    fs::remove_all(folder_);
    fs::create_directories(folder_ / "temporary");
    fs::current_path(folder_);
    setenv("TMPDIR", (folder_ / "temporary").c_str(), 1);
  }
  ~Place() {
    temporary_ ? setenv("TMPDIR", temporary_->c_str(), 1) : unsetenv("TMPDIR");
    fs::current_path(before_);
  }
  Place(const Place&) = delete;
  Place& operator=(const Place&) = delete;

  std::set<std::string> names() const {
    std::set<std::string> out;
    for (const auto& each : fs::recursive_directory_iterator(folder_))
      out.insert(fs::relative(each.path(), folder_).string());
    return out;
  }

 private:
  fs::path before_, folder_;
  std::optional<std::string> temporary_;
};

void put(const fs::path& file, const std::string& text = "precious") {
  std::ofstream(file) << text;
}

std::string content(const fs::path& file) {
  std::ifstream in(file, std::ios::binary);
  return {std::istreambuf_iterator<char>(in), std::istreambuf_iterator<char>()};
}

/// One kind of output: the ending of its name, and how the window and the command line write it.
struct Writer {
  const char* ending;
  std::function<void(const fs::path&, bool replace)> write;
};

std::vector<Writer> writers() {
  return {{".wav",
           [](const fs::path& target, bool replace) {
             TraceSource source(RunFiles::idle());
             SoundPlan plan;
             plan.target = target;
             plan.replace = replace;
             write_sound(source, plan);
           }},
          {".html",
           [](const fs::path& target, bool replace) {
             TraceSource source(RunFiles::idle());
             write_page(source, Signals(source),
                        {.target = target, .from = {}, .to = {}, .dark = true, .replace = replace});
           }},
          {".html",
           [](const fs::path& target, bool replace) {
             write_handout(read_lesson(find_lesson("pump_shot_and_blip_lag")), test_font(),
                           {.target = target, .sheets = 1, .replace = replace});
           }},
          {".pdf", [](const fs::path& target, bool replace) {
             write_handout(read_lesson(find_lesson("pump_shot_and_blip_lag")), test_font(),
                           {.target = target, .sheets = 1, .replace = replace});
           }}};
}

bool printer_is_there(const Writer& writer) {
  return std::string(writer.ending) != ".pdf" ||
         std::system("command -v chromium > /dev/null 2>&1") == 0;  // NOLINT: no other thread runs
}

/// The exit code, at most 60 s later.
int call(const std::string& words) {
  const int status = std::system(("timeout 60 " + words).c_str());
  return WIFEXITED(status) ? WEXITSTATUS(status) : -1;
}

}  // namespace

TEST_CASE("outputs: links, pipes, folders and files keep their names and what they hold",
          "[viz][outputs][anomaly]") {
  for (const auto& writer : writers()) {
    for (const bool replace : {false, true}) {
      CAPTURE(writer.ending, replace);
      const Place place;
      const fs::path target = std::string("x") + writer.ending;
      put("victim");
      for (const char* leads_to : {"victim", "nowhere"}) {
        fs::create_symlink(leads_to, target);
        CHECK_THROWS_WITH(writer.write(target, replace), Catch::Contains("is a link"));
        CHECK(fs::is_symlink(target));
        CHECK(content("victim") == "precious");
        CHECK_FALSE(fs::exists("nowhere"));
        fs::remove(target);
      }
      REQUIRE(mkfifo(target.c_str(), 0600) == 0);
      CHECK_THROWS_WITH(writer.write(target, replace), Catch::Contains("is a pipe"));
      CHECK(fs::is_fifo(target));
      fs::remove(target);
      fs::create_directory(target);
      CHECK_THROWS_WITH(writer.write(target, replace), Catch::Contains("is a folder"));
      CHECK(fs::is_directory(target));
      fs::remove(target);
      if (!replace) {
        put(target);
        CHECK_THROWS_WITH(writer.write(target, replace), Catch::Contains("is there already"));
        CHECK(content(target) == "precious");
        fs::remove(target);
      }
      CHECK(place.names() == std::set<std::string>{"temporary", "victim"});
    }
  }
}

TEST_CASE("outputs: no name that can be guessed is written to meanwhile", "[viz][outputs][anomaly]") {
  for (const auto& writer : writers()) {
    if (!printer_is_there(writer)) continue;
    CAPTURE(writer.ending);
    const Place place;
    const std::string target = std::string("x") + writer.ending;
    put("victim");
    fs::create_directory("folder");
    fs::create_symlink("../victim", "folder/run_0.h5");
    fs::create_symlink("../victim", "folder/step.png");
    fs::create_symlink("victim", target + ".unfinished" + writer.ending);
    fs::create_symlink("../folder", "temporary/glassbowl_handout_" + std::to_string(getpid()));
    auto names = place.names();
    put(target, "old");
    CHECK_NOTHROW(writer.write(target, true));
    CHECK(content(target).size() > 1000);
    CHECK(content("victim") == "precious");
    names.insert(target);
    CHECK(place.names() == names);
  }
}

TEST_CASE("outputs: a name that other programs take for an option or a command is a name",
          "[viz][outputs][anomaly]") {
  for (const auto& writer : writers()) {
    if (!printer_is_there(writer)) continue;
    for (const char* stem : {"-y", "|touch PWNED"}) {
      const Place place;
      const std::string target = std::string(stem) + writer.ending;
      CAPTURE(target);
      CHECK_NOTHROW(writer.write(target, false));
      CHECK(place.names() == std::set<std::string>{"temporary", target});
      CHECK(content(target).size() > 1000);
    }
  }
}

TEST_CASE("outputs: a lesson's own run lies in a private folder that is removed",
          "[viz][outputs][lessons][anomaly]") {
  const Place place;
  put("victim");
  // The shell hands its process number, known beforehand, to the program.
  const std::string words = "sh -c 'ln -s ../victim temporary/glassbowl_lesson_$$.h5; exec " +
                            std::string(GLASSBOWL_VIEW) +
                            " --lesson pump_shot_and_blip_lag --export=x.png' > out 2>&1";
  CHECK(call(words) == 0);
  CAPTURE(content("out"));
  CHECK(content("victim") == "precious");
  CHECK(content("x.png").size() > 1000);
  CHECK(std::distance(fs::directory_iterator("temporary"), fs::directory_iterator()) == 1);
}

TEST_CASE("outputs: a private folder is this user's alone, and goes with all that is in it",
          "[viz][outputs]") {
  const Place place;
  put("victim");
  {
    const sim::OwnFolder one, other;
    CHECK(fs::status(one / ".").permissions() == fs::perms::owner_all);
    CHECK_FALSE(fs::equivalent(one / ".", other / "."));
    put(one / "file");
    fs::create_symlink(fs::absolute("victim"), one / "link");
  }
  CHECK(place.names() == std::set<std::string>{"temporary", "victim"});
  setenv("TMPDIR", "/no/such/folder", 1);
  CHECK_THROWS_WITH(sim::OwnFolder(), Catch::Contains("TMPDIR"));
}

TEST_CASE("outputs: names that are printed do not steer the terminal", "[viz][outputs][anomaly]") {
  const Place place;
  const std::string name = "a\033]0;b\a.wav";
  CHECK(call(std::string(GLASSBOWL_VIEW) + " " + RunFiles::idle().string() + " --export='" + name +
             "' > out 2>&1") == 0);
  CHECK(fs::exists(name));
  CHECK(content("out").find("full scale") != std::string::npos);
  CHECK(content("out").find('\033') == std::string::npos);
}

TEST_CASE("outputs: the list of recent files follows no link and waits for no pipe",
          "[viz][outputs][anomaly]") {
  const Place place;
  const char* before = std::getenv("XDG_STATE_HOME");
  const std::string kept = before != nullptr ? before : "";
  setenv("XDG_STATE_HOME", fs::current_path().c_str(), 1);
  put("victim");
  put("mine\nmine too");
  fs::create_directory("glassbowl");
  const fs::path list = "glassbowl/recent", guessed = "glassbowl/recent." + std::to_string(getpid());

  fs::create_symlink("../victim", list);
  remember_file("victim");
  CHECK(fs::is_symlink(list));
  CHECK(content("victim") == "precious");
  fs::remove(list);

  fs::create_symlink("../victim", guessed);
  remember_file("victim");
  CHECK(content("victim") == "precious");
  CHECK(fs::is_symlink(guessed));
  CHECK(recent_files() == std::vector<std::string>{fs::absolute("victim").string()});
  remember_file("mine\nmine too");  // a line could not hold it
  CHECK(recent_files() == std::vector<std::string>{fs::absolute("victim").string()});
  fs::remove(list);

  REQUIRE(mkfifo(list.c_str(), 0600) == 0);
  CHECK(recent_files().empty());
  remember_file("victim");
  CHECK(fs::is_fifo(list));
  before != nullptr ? setenv("XDG_STATE_HOME", kept.c_str(), 1) : unsetenv("XDG_STATE_HOME");
}

TEST_CASE("outputs: the next free name is one that no link has either", "[viz][outputs]") {
  const Place place;
  fs::create_symlink("nowhere", "glassbowl_1.png");
  CHECK(free_name("glassbowl", ".png") == "glassbowl_2.png");
}

}  // namespace glassbowl::viz
