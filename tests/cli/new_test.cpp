#include <fcntl.h>
#include <poll.h>
#include <pty.h>
#include <sys/wait.h>
#include <unistd.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "tests/cli/program.hpp"

namespace glassbowl::sim {
namespace {

namespace fs = std::filesystem;
using nlohmann::json;

/// The program at a terminal of its own: answers are typed when it asks.
class Terminal {
 public:
  Terminal(const CaseFolder& folder, std::vector<std::string> arguments) {
    child_ = forkpty(&master_, nullptr, nullptr, nullptr);
    if (child_ != 0) return;
    if (chdir((folder / "").c_str()) != 0) _exit(126);
    arguments.insert(arguments.begin(), GLASSBOWL_PROGRAM);
    std::vector<char*> argv;
    for (auto& word : arguments) argv.push_back(word.data());
    argv.push_back(nullptr);
    execv(GLASSBOWL_PROGRAM, argv.data());
    _exit(127);
  }
  ~Terminal() {
    close(master_);
    if (child_ > 0) {
      kill(child_, SIGKILL);
      waitpid(child_, nullptr, 0);
    }
  }
  Terminal(const Terminal&) = delete;
  Terminal& operator=(const Terminal&) = delete;

  /// Everything printed until `text` has been, or 60 s have passed without a byte.
  bool waits_for(const std::string& text) {
    while (said_.find(text, from_) == std::string::npos) {
      pollfd wait{master_, POLLIN, 0};
      char bytes[4096];
      if (poll(&wait, 1, 60000) <= 0) return false;
      const auto count = read(master_, bytes, sizeof bytes);
      if (count <= 0) return false;
      said_.append(bytes, static_cast<std::size_t>(count));
    }
    from_ = said_.find(text, from_) + text.size();
    return true;
  }
  void type(const std::string& line) {
    const std::string text = line + "\n";
    REQUIRE(write(master_, text.data(), text.size()) == static_cast<ssize_t>(text.size()));
  }
  void press(char control) { REQUIRE(write(master_, &control, 1) == 1); }
  int end() {
    int status = 0;
    char bytes[4096];
    while (read(master_, bytes, sizeof bytes) > 0) {
    }
    waitpid(child_, &status, 0);
    child_ = -1;
    return WIFEXITED(status) ? WEXITSTATUS(status) : 128 + WTERMSIG(status);
  }

 private:
  int master_ = -1;
  pid_t child_ = -1;
  std::string said_;
  std::size_t from_ = 0;
};

const std::string prompt = "> ";
const fs::path twin = fs::path(GLASSBOWL_SOURCE) / "cases" / "answers" / "mail_850.toml";

const json& value_in(const json& all, const std::string& key) {
  return *std::find_if(all["values"].begin(), all["values"].end(),
                       [&](const json& v) { return v["key"] == key; });
}

}  // namespace

TEST_CASE("new: at a terminal it asks, checks each answer, and goes on after it was interrupted", "[cli]") {
  const CaseFolder folder;
  {
    Terminal at(folder, {"new", "mine.toml", "--no-computation"});
    REQUIRE(at.waits_for("Displacement"));
    REQUIRE(at.waits_for(prompt));
    at.type("as big as a house");
    REQUIRE(at.waits_for("does not begin with a number"));
    REQUIRE(at.waits_for(prompt));
    at.type("850 cc");
    REQUIRE(at.waits_for("Cylinders"));
    REQUIRE(at.waits_for(prompt));
    at.type("2");
    REQUIRE(at.waits_for("Firing"));
    REQUIRE(at.waits_for(prompt));
    at.press('\x03');
    CHECK(at.end() != 0);
  }
  CHECK_FALSE(fs::exists(folder / "mine.toml"));
  CHECK_THAT(text_in(folder / "mine.toml.answers"), Catch::Contains("displacement = \"850 cm3\""));

  Terminal again(folder, {"new", "mine.toml", "--no-computation"});
  REQUIRE(again.waits_for("Going on with 2 answers"));
  REQUIRE(again.waits_for("Firing"));
  REQUIRE(again.waits_for(prompt));
  again.type("360");
  for (int i = 0; i < 40 && again.waits_for(prompt); ++i) {
    again.type("don't know");
    if (i == 0) CHECK(again.waits_for("Assumed: "));
    if (fs::exists(folder / "mine.toml")) break;
  }
  CHECK(again.end() == 0);
  const std::string text = text_in(folder / "mine.toml");
  CHECK_THAT(text,
             Catch::Contains("estimate = true") && Catch::Contains("firing = [\"0 deg\", \"360 deg\"]"));
  CHECK(text.find("rod") == std::string::npos);
  CHECK_FALSE(fs::exists(folder / "mine.toml.answers"));
}

TEST_CASE("new: answers from a file make a case of these values only, and nothing is replaced unasked",
          "[cli]") {
  const CaseFolder folder;
  const std::vector<std::string> command{"new", "twin.toml", "--answers", twin.string(), "--no-computation"};
  REQUIRE(run_program(folder, command).code == 0);
  const std::string text = text_in(folder / "twin.toml");
  CHECK_THAT(text, Catch::Contains("idle_speed = \"1050 rpm\"") &&
                       Catch::Contains("bore = \"78 mm\"  # cylinder bore"));
  CHECK_THAT(run_program(folder, command).err, Catch::Contains("--force"));
  CHECK(text_in(folder / "twin.toml") == text);

  const auto checked = run_program(folder, {"check", "twin.toml", "--no-computation", "--json"});
  REQUIRE(checked.code == 0);
  const json all = json::parse(checked.out);
  CHECK(value_in(all, "engine.bore")["origin"] == "own");
  CHECK(value_in(all, "engine.rod")["origin"] == "estimated");
  CHECK(value_in(all, "engine.rod")["spread"] == "14 %");
  CHECK_THAT(value_in(all, "engine.rod")["from"].get<std::string>(), Catch::Contains("1.75 strokes"));
  CHECK(value_in(all, "fuel.density")["origin"] == "default");
  for (const json& v : all["values"]) {
    const std::string origin = v["origin"];
    CHECK((origin == "own" || origin == "estimated" || origin == "borrowed" || origin == "default"));
  }
  const json mule = json::parse(run_program(folder, {"check", "bikes/mule_750", "--json"}).out);
  CHECK(value_in(mule, "engine.bore")["origin"] == "borrowed");
}

TEST_CASE("new: wrong answers are refused all at once, a message each, and nothing is written", "[cli]") {
  const CaseFolder folder;
  folder.write("wrong.toml",
               "[engine]\nbore = \"78 l\"\ncylinders = 2\nstroke = \"89 mm\"\ncolour = \"red\"\n"
               "[carburetor.throttle]\nbore = \"900 mm\"\n");
  const auto refused =
      run_program(folder, {"new", "out.toml", "--answers", "wrong.toml", "--set", "idle_speed=soon"});
  CHECK(refused.code == 2);
  for (const char* part : {"bore = \"78 l\"", "colour", "bore = \"900 mm\"", "idle_speed", "4 problems"})
    CHECK_THAT(refused.err, Catch::Contains(part));
  CHECK_FALSE(fs::exists(folder / "out.toml"));
  CHECK(run_program(folder, {"new", "out", "--set", "engine.bore=70 mm"}).code == 2);
}

TEST_CASE("new: the twin of fifteen sizes idles at the speed asked for, and says what to measure next",
          "[cli]") {
  const CaseFolder folder;
  const auto made = run_program(folder, {"new", "twin.toml", "--answers", twin.string()});
  REQUIRE(made.code == 0);
  CHECK_THAT(made.out, Catch::Contains("found for idle_speed = 1050 rpm") && Catch::Contains("1. "));
  // Running free on its stop, not held, it keeps that speed.
  folder.write("idle.toml",
               "base = \"twin.toml\"\n[load]\nkind = \"neutral\"\nspeed = \"1050 rpm\"\nreleased = "
               "\"-3 s\"\n[run]\nsettle = \"8 s\"\nduration = \"10 s\"\n");
  const auto ran = run_program(folder, {"run", "idle.toml", "--no-trace", "--no-sensitivity", "--json"});
  REQUIRE(ran.code == 0);
  const json summary = json::parse(ran.out);
  INFO(ran.out);
  CHECK(summary["speed_mean_rpm"].get<double>() == Approx(1050.0).epsilon(0.06));
}

TEST_CASE(
    "measure: a page with ten places first, each with drawing, tool and blank, what sharpens lambda most at "
    "the "
    "top",
    "[cli]") {
  const CaseFolder folder;
  REQUIRE(
      run_program(folder, {"new", "twin.toml", "--answers", "answers/mail_850", "--no-computation"}).code ==
      0);
  const auto measured = run_program(folder, {"measure", "twin.toml", "-o", "page.html"});
  REQUIRE(measured.code == 0);
  const std::string page = text_in(folder / "page.html");
  const auto count = [](const std::string& text, const std::string& part) {
    std::size_t all = 0;
    for (std::size_t at = text.find(part); at != std::string::npos; at = text.find(part, at + 1)) ++all;
    return all;
  };
  const std::string first = page.substr(0, page.find("Then, if there is time"));
  REQUIRE(first.size() < page.size());
  for (const char* part :
       {"<div class=\"size\">", "<svg class=\"place\"", "Tool: ", "<div class=\"blank\">"}) {
    INFO(part);
    CHECK(count(first, part) == 10);
  }
  CHECK(page.find("http") == std::string::npos);  // nothing from elsewhere
  // What is given already is not asked for again.
  CHECK(page.find("Cylinder bore") == std::string::npos);
  CHECK_THAT(measured.out, Catch::StartsWith("Lambda as described: known within +- 0."));
  CHECK(run_program(folder, {"measure", "twin.toml", "-o", "page.html"}).code == 2);
}

TEST_CASE("targets: an idle speed that no stop reaches is one clear error with the nearest", "[cli]") {
  const CaseFolder folder;
  folder.write("dry.toml",
               "base = \"bikes/mule_750.toml\"\nidle_speed = \"1000 rpm\"\n[carburetor.slow.jet]\nbore = "
               "\"0.10 mm\"\n");
  const auto refused = run_program(folder, {"map", "dry.toml"});
  CHECK(refused.code == 2);
  CHECK_THAT(refused.err,
             Catch::Contains("idle_speed = 1000 rpm is not reached") && Catch::Contains("nearest"));
}

}  // namespace glassbowl::sim
