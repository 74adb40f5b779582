#include <sys/wait.h>
#include <SFML/Graphics/Image.hpp>

#include <array>
#include <catch2/catch.hpp>
#include <cstdio>
#include <cstdlib>
#include <fstream>
#include <thread>

#include "sim/api/background_run.hpp"
#include "sim/api/live_bench.hpp"
#include "sim/api/trace.hpp"
#include "tests/viz/pixels.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/lessons/folder.hpp"
#include "viz/session.hpp"
#include "viz/start/recent.hpp"
#include "viz/start/start_page.hpp"

namespace glassbowl::viz {
namespace {

namespace fs = std::filesystem;

/// Drives the real program by keys and gives its last picture.
sf::Image screen(const std::string& arguments, const std::string& keys, int pictures = 60) {
  const fs::path file = RunFiles::folder() / "screen.png";
  fs::remove(file);
  const std::string call = std::string("XDG_STATE_HOME=") + RunFiles::folder().string() + " " +
                           GLASSBOWL_VIEW + " " + arguments + " --pictures " + std::to_string(pictures) +
                           " --screenshot " + file.string() +
                           (keys.empty() ? "" : " --press '" + keys + "'") + " > " +
                           (RunFiles::folder() / "screen.txt").string() + " 2>&1";
  const int status = std::system(call.c_str());
  CAPTURE(call);
  CHECK(status == 0);
  sf::Image image;
  REQUIRE(image.loadFromFile(file.string()));
  return image;
}

int of_color(const sf::Image& image, sf::Color color, int within = 40) {
  int count = 0;
  for (unsigned y = 0; y < image.getSize().y; y += 2)
    for (unsigned x = 0; x < image.getSize().x; x += 2)
      count += distance(image.getPixel(x, y), color) < within ? 1 : 0;
  return count;
}

bool shows_a_bowl(const sf::Image& image) {
  return of_color(image, color_of(Hue::fuel, dark_theme())) > 300;
}

}  // namespace

TEST_CASE("start page: it opens without arguments, and Enter starts the chosen bike", "[viz][start]") {
  const sf::Image page = screen("", "");
  CHECK_FALSE(shows_a_bowl(page));
  CHECK(of_color(page, dark_theme().text, 60) > 60);
  CHECK(shows_a_bowl(screen("", "Enter", 90)));
  // And back again.
  CHECK_FALSE(shows_a_bowl(screen("", "Enter Ctrl+O", 90)));
}

TEST_CASE("start page: a lesson without a trace computes its own run", "[viz][start][lessons]") {
  CHECK(shows_a_bowl(screen("--lesson idle_circuit", "")));
}

TEST_CASE("start page: the lesson list starts one on its own run where the open one does not fit",
          "[viz][start][lessons]") {
  // A throttle that opens is none for the idle lesson: the fourth control of the panel is that lesson.
  Choice choice;
  choice.trace = RunFiles::fixed_venturi().string();
  const auto session = Session::open(choice, test_font());
  const auto lesson = read_lesson(find_lesson("idle_circuit"));
  session->app.begin_lesson(lesson);
  CHECK(session->view.lesson() == nullptr);
  REQUIRE(session->app.want_lesson);
  CHECK(session->app.want_lesson->case_name == "warm_idle");
  session->app.want_lesson.reset();
  session->app.begin_lesson(read_lesson(find_lesson("what_makes_fuel_rise")));  // this one fits
  CHECK(session->view.lesson() != nullptr);
  CHECK_FALSE(session->app.want_lesson);
}

TEST_CASE("lessons: every shipped lesson fits the run that it names", "[viz][lessons]") {
  std::vector<std::string> problems;
  for (const auto& lesson : read_lessons(lesson_folder(), problems)) {
    if (lesson.case_name != "blip" && lesson.case_name != "blip_piston") continue;  // the short ones
    const auto trace = RunFiles::folder() / (lesson.case_name + "_own.h5");
    if (!fs::exists(trace)) {
      sim::BackgroundRun run(lesson.case_name, trace);
      while (!run.finished()) std::this_thread::sleep_for(std::chrono::milliseconds(10));
      REQUIRE(run.problem().empty());
      CHECK(run.done() > 0.5);
    }
    Choice choice;
    choice.trace = trace.string();
    choice.lesson = lesson;
    CAPTURE(lesson.title);
    CHECK(Session::open(choice, test_font())->view.lesson()->answer().find("no value") == std::string::npos);
  }
}

TEST_CASE("start page: any shipped bike goes with any shipped ride", "[viz][start]") {
  const auto clock = std::make_shared<sim::LiveClock>();
  for (const auto& bike : sim::shipped_bikes())
    for (const auto& ride : sim::shipped_rides()) {
      if (ride.name.ends_with("_piston")) continue;  // rides that differ by their bike
      CAPTURE(bike.name, ride.name);
      CHECK_NOTHROW(sim::LiveBench(ride.name + "+" + bike.name.substr(6), {"run.settle=0.01 s"}, clock));
    }
  const sim::LiveBench goat("bikes/goat_400", {}, clock);
  CHECK(goat.geometry().firing.size() == 1);
  CHECK_THROWS(sim::LiveBench("blip+no_such_bike", {}, clock));
}

TEST_CASE("start page: a run in the background that fails says why", "[viz][start][anomaly]") {
  sim::BackgroundRun run("no_such_case", RunFiles::folder() / "never.h5");
  while (!run.finished()) std::this_thread::sleep_for(std::chrono::milliseconds(10));
  CHECK(run.problem().find("no_such_case") != std::string::npos);
}

TEST_CASE("start page: files are remembered, newest first, and those that are gone are left out",
          "[viz][start]") {
  const char* before = std::getenv("XDG_STATE_HOME");
  const std::string kept = before != nullptr ? before : "";
  setenv("XDG_STATE_HOME", (RunFiles::folder() / "state").c_str(), 1);
  const auto a = RunFiles::folder() / "a.toml", b = RunFiles::folder() / "b.toml";
  std::ofstream(a) << "x";
  std::ofstream(b) << "x";
  remember_file(a);
  remember_file(b);
  remember_file(a);
  CHECK(recent_files() == std::vector<std::string>{a.string(), b.string()});
  fs::remove(a);
  CHECK(recent_files() == std::vector<std::string>{b.string()});
  before != nullptr ? setenv("XDG_STATE_HOME", kept.c_str(), 1) : unsetenv("XDG_STATE_HOME");
}

TEST_CASE("start page: a file is opened as what it is", "[viz][start]") {
  CHECK(StartPage::choice_of(RunFiles::idle()).trace == RunFiles::idle().string());
  const auto own = RunFiles::folder() / "own.toml";
  std::ofstream(own) << "base = 'runs/blip.toml'\n";
  CHECK(StartPage::choice_of(own).live == own.string());
}

TEST_CASE("view: an enlarged drawing follows the hand that drags it", "[viz][view]") {
  Choice choice;
  choice.trace = RunFiles::fixed_venturi().string();
  const auto session = Session::open(choice, test_font());
  View& view = session->view;
  const auto draw = [&] {
    view.advance(0.0);
    picture([&](Canvas& canvas) { view.draw(canvas, {1280, 720}, {0, 0, 1280, 720}); });
    return view.first().cutaway.carburetor_stage().at(0, 0);
  };
  draw();
  view.drag_drawing({50, 20});  // not enlarged: nothing to move
  const Point whole = draw();
  view.zoom_drawing(3.0, Point(500, 250));
  const Point before = draw();
  CHECK(before != whole);
  view.drag_drawing({30, -20});
  const Point after = draw();
  CHECK(after.x - before.x == Approx(30).margin(0.5));
  CHECK(after.y - before.y == Approx(-20).margin(0.5));
}

}  // namespace glassbowl::viz
