#include <SFML/Window/Keyboard.hpp>

#include <catch2/catch.hpp>
#include <set>

#include "sim/api/error.hpp"
#include "tests/viz/pixels.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/panels/app.hpp"
#include "viz/source/trace_source.hpp"

namespace glassbowl::viz {
namespace {

using Key = sf::Keyboard;
constexpr Box whole{0, 0, 1280, 720};

/// A replay without a window, worked by keys.
struct Desk {
  explicit Desk(std::unique_ptr<Source> beside = nullptr)
      : view(test_font(), std::make_unique<TraceSource>(RunFiles::fixed_venturi()), std::move(beside)),
        app(view, test_font(), {}, nullptr) {
    look();
  }
  void press(int key, bool shift = false) {
    CHECK(run_command(app, key, shift ? Modifier::shift : Modifier::none));
    look();
  }
  void look() {
    view.advance(0.0);
    picture([&](Canvas& canvas) { view.draw(canvas, {1280, 720}, whole); });
  }
  double crank() {
    return Instant(app.source(), view.playback.time)[app.source().find("crank_angle")] * 180 / 3.14159265359;
  }
  View view;
  App app;
};

}  // namespace

TEST_CASE("keyboard: no key has two meanings, and every name can be pressed", "[viz][keyboard]") {
  std::set<std::pair<int, Modifier>> replay, live;
  for (const auto& group : command_groups())
    for (const auto& command : group.commands) {
      CAPTURE(command.key_name);
      if (!command.live_only) CHECK(replay.insert({command.key, command.with}).second);
      if (!command.replay_only) CHECK(live.insert({command.key, command.with}).second);
      CHECK(command_named(command.key_name) == &command);
      CHECK(std::string(command.key_name).find(' ') == std::string::npos);
    }
}

TEST_CASE("keyboard: with Ctrl or Alt held, a key does not act as the plain one", "[viz][keyboard]") {
  Desk desk;
  const auto press = [&](int code, bool control, bool alt) {
    return run_command(desk.app, code,
                       modifier_of({static_cast<Key::Key>(code), alt, control, false, false}));
  };
  CHECK_FALSE(press(Key::Z, true, false));
  CHECK_FALSE(desk.view.large_type);
  CHECK_FALSE(press(Key::D, false, true));
  CHECK(desk.view.dark);
  CHECK(press(Key::D, false, false));
  CHECK_FALSE(desk.view.dark);
}

TEST_CASE("keyboard: time is stepped, scrubbed, looped and slowed", "[viz][keyboard]") {
  Desk desk;
  auto& playback = desk.view.playback;
  playback.go_to(0.2, desk.app.source());
  const double before = desk.crank();
  desk.press(Key::Right);
  CHECK(desk.crank() - before == Approx(1.0).margin(1e-3));
  desk.press(Key::Right, true);
  CHECK(desk.crank() - before == Approx(721.0).margin(1e-2));
  desk.press(Key::Left, true);
  desk.press(Key::Left);
  CHECK(desk.crank() == Approx(before).margin(1e-3));
  desk.press(Key::End);
  CHECK(playback.time == desk.app.source().last_time());
  desk.press(Key::Home);
  CHECK(playback.time == desk.app.source().first_time());
  desk.press(Key::L);
  CHECK(playback.loop_cycle);
  const double rate = playback.rate;
  desk.press(Key::Down);
  CHECK(playback.rate == rate / 2);
  desk.press(Key::Up);
  CHECK(playback.rate == rate);
  desk.press(Key::Space);
  CHECK(playback.playing);
}

TEST_CASE("keyboard: every view, panel and look is a key away", "[viz][keyboard]") {
  Desk desk(std::make_unique<TraceSource>(RunFiles::vacuum_piston()));
  auto& view = desk.view;
  desk.press(Key::Num1);
  CHECK(view.mode == Mode::cutaway);
  desk.press(Key::Num2);
  CHECK(view.mode == Mode::overlap);
  desk.press(Key::E);
  CHECK(view.enlarge_overlap);
  desk.press(Key::Num3);
  CHECK(view.mode == Mode::beside);
  desk.press(Key::D);
  CHECK_FALSE(view.dark);
  desk.press(Key::T);
  CHECK_FALSE(view.show_strips);
  desk.press(Key::T);
  const float usual = view.scale({1280, 720});
  desk.press(Key::Z);
  CHECK(view.scale({1280, 720}) > 1.2F * usual);
  for (const auto& [key, panel] : {std::pair{Key::F1, Panel::keys},
                                   {Key::A, Panel::channels},
                                   {Key::G, Panel::lessons},
                                   {Key::X, Panel::exporting}}) {
    desk.press(key);
    CHECK(desk.app.panel == panel);
    desk.press(Key::Escape);
    CHECK(desk.app.panel == Panel::none);
  }
}

TEST_CASE("keyboard: strips and drawing are looked at closer and left again", "[viz][keyboard]") {
  Desk desk;
  desk.view.playback.go_to(0.3, desk.app.source());
  desk.look();
  const auto& strips = desk.view.first().strips;
  const double span = strips.to() - strips.from();
  desk.press(Key::Add);
  CHECK(strips.to() - strips.from() == Approx(span / 2));
  CHECK(strips.from() < 0.3);
  CHECK(strips.to() > 0.3);
  const double from = strips.from();
  desk.press(Key::RBracket);
  CHECK(strips.from() == Approx(from + span / 8));
  desk.press(Key::Num0);
  CHECK(strips.to() - strips.from() == Approx(span));
  desk.press(Key::PageUp);
  CHECK(desk.view.look.zoom > 1.0);
  desk.press(Key::PageDown);
  CHECK(desk.view.look.zoom == 1.0);
}

TEST_CASE("keyboard: walking through the parts explains each of them once", "[viz][keyboard]") {
  Desk desk;
  const auto parts = desk.view.first().cutaway.hits().parts();
  std::vector<PartId> spoken;
  for (std::size_t i = 0; i < parts.size(); ++i) {
    desk.press(Key::Period);
    REQUIRE(desk.view.spoken);
    spoken.push_back(*desk.view.spoken);
  }
  for (const PartId id : parts) CHECK(std::count(spoken.begin(), spoken.end(), id) == 1);
  desk.press(Key::Comma);
  CHECK(*desk.view.spoken == spoken[spoken.size() - 2]);
  desk.press(Key::Escape);
  CHECK_FALSE(desk.view.spoken);
}

TEST_CASE("keyboard: a lesson is gone through, answered and left", "[viz][keyboard][lessons]") {
  Desk desk;
  const auto file = std::string(GLASSBOWL_CASES) + "/lessons/what_makes_fuel_rise.toml";
  const auto usual = desk.view.first().strips.list().size();
  desk.view.set_lesson(std::make_unique<LessonRun>(read_lesson(file), desk.app.source()));
  const auto* lesson = desk.view.lesson();
  CHECK(desk.view.first().strips.list().size() == lesson->lesson().strips.size());
  for (std::size_t step = 0; step < lesson->lesson().steps.size(); ++step) {
    CHECK(lesson->step() == step);
    CHECK(desk.view.first().strips.from() <= lesson->from());
    CHECK(desk.view.first().strips.to() >= lesson->to());
    desk.press(Key::Enter);
  }
  CHECK(lesson->at_question());
  CHECK_FALSE(lesson->answered());
  desk.press(Key::Enter);
  CHECK(lesson->answered());
  desk.press(Key::BackSpace);
  CHECK_FALSE(lesson->at_question());
  desk.press(Key::Escape);
  CHECK(desk.view.lesson() == nullptr);
  CHECK(desk.view.first().strips.list().size() == usual);
}

TEST_CASE("export: a stopped one leaves no file, and none is overwritten", "[viz][export]") {
  Desk desk;
  const auto folder = RunFiles::folder();
  auto& plan = desk.app.export_plan;
  plan.target = folder / "span.png";
  plan.width = 640;
  plan.height = 360;
  desk.app.start_export();
  REQUIRE(desk.app.job);
  desk.app.step_export();
  CHECK_FALSE(desk.app.job);
  CHECK(std::filesystem::exists(plan.target));
  desk.app.start_export();  // the same name again
  CHECK_FALSE(desk.app.job);
  CHECK(desk.app.message.find("already") != std::string::npos);
  if (std::system("command -v ffmpeg > /dev/null") != 0) return;
  plan.target = folder / "span.mp4";
  plan.from = 0.1;
  plan.to = 0.2;
  desk.app.start_export();
  REQUIRE(desk.app.job);
  desk.app.step_export();
  CHECK(desk.app.job->done() > 0.0);
  CHECK(run_command(desk.app, Key::Escape));
  CHECK_FALSE(desk.app.job);
  for (const auto& entry : std::filesystem::directory_iterator(folder))
    CHECK(entry.path().filename().string().find("span.mp4") == std::string::npos);
}

}  // namespace glassbowl::viz
