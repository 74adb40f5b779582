#include <SFML/Window/Keyboard.hpp>

#include <algorithm>
#include <cmath>

#include "viz/panels/app.hpp"

namespace glassbowl::viz {
namespace {

using Key = sf::Keyboard;
constexpr double degree = 3.14159265358979323846 / 180.0;

void slower(App& a) {
  a.set_rate(a.view.playback.rate / 2.0);
}
void faster(App& a) {
  a.set_rate(a.view.playback.rate * 2.0);
}
void step(App& a, double degrees) {
  a.view.playback.step_angle(degrees * degree, a.source());
}
void cycle(App& a, int n) {
  a.view.playback.step_cycles(n, a.source());
}
void leave_lesson(App& a) {
  a.view.set_lesson(nullptr);
}
void escape(App& a) {
  if (a.show_keys || a.show_channels || a.show_lessons || a.show_changes)
    a.show_keys = a.show_channels = a.show_lessons = a.show_changes = false;
  else if (a.view.lesson() != nullptr)
    leave_lesson(a);
}
void lesson_next(App& a) {
  auto* lesson = a.view.lesson();
  if (lesson == nullptr) return;
  if (lesson->at_question())
    lesson->show_answer();
  else
    lesson->go_to(lesson->step() + 1, a.view.playback);
}
void lesson_back(App& a) {
  auto* lesson = a.view.lesson();
  if (lesson != nullptr && lesson->step() > 0) lesson->go_to(lesson->step() - 1, a.view.playback);
}
void move_throttle(App& a, double by) {
  a.controls.throttle = std::clamp(a.controls.throttle + by, 0.0, 1.0);
  a.send_controls();
}
void snap(App& a) {
  for (auto* live : a.live) live->bench().snap(0.6, 0.8);
  a.say("Snapping the throttle open to 60 %: the lag is said when it is over.");
}
void record(App& a) {
  a.recording = !a.recording;
  for (std::size_t i = 0; i < a.live.size(); ++i)
    a.recording ? a.live[i]->bench().record("live_" + std::to_string(i + 1) + ".h5")
                : a.live[i]->bench().stop_recording();
}
void reset(App& a) {
  for (auto* live : a.live) live->bench().reset();
}

}  // namespace

void App::send_controls() {
  for (auto* bench : live) bench->bench().set_controls(controls);
}

void App::set_rate(double rate) {
  view.playback.set_rate(rate);
  for (auto* bench : live) {
    bench->bench().set_rate(view.playback.rate);
    // Rows close enough that slow motion moves in every picture.
    bench->bench().set_row_interval(std::clamp(view.playback.rate / 60.0 / 2.0, 4e-5, 5e-4));
  }
}

void App::toggle_playing() {
  if (live.empty()) {
    if (!view.playback.playing && view.playback.time >= source().last_time())
      view.playback.time = source().first_time();
    view.playback.playing = !view.playback.playing;
    return;
  }
  live_paused = !live_paused;
  for (auto* bench : live) bench->bench().set_paused(live_paused);
}

const std::vector<Command>& commands() {
  static const std::vector<Command> list{
      {Key::F1, false, "F1", "this list of keys", false, false, [](App& a) { a.show_keys = !a.show_keys; }},
      {Key::Space, false, "Space", "play or pause", false, false, [](App& a) { a.toggle_playing(); }},
      {Key::Right, false, "Right", "one crank degree on", false, true, [](App& a) { step(a, 1.0); }},
      {Key::Left, false, "Left", "one crank degree back", false, true, [](App& a) { step(a, -1.0); }},
      {Key::Right, true, "Shift Right", "one engine cycle on", false, true, [](App& a) { cycle(a, 1); }},
      {Key::Left, true, "Shift Left", "one engine cycle back", false, true, [](App& a) { cycle(a, -1); }},
      {Key::Home, false, "Home", "to the start", false, true,
       [](App& a) { a.view.playback.go_to(a.source().first_time(), a.source()); }},
      {Key::End, false, "End", "to the end", false, true,
       [](App& a) { a.view.playback.go_to(a.source().last_time(), a.source()); }},
      {Key::L, false, "L", "loop this engine cycle", false, true,
       [](App& a) { a.view.playback.loop_cycle = !a.view.playback.loop_cycle; }},
      {Key::Down, false, "Down", "half as fast, to 1/2000", false, false, slower},
      {Key::Up, false, "Up", "twice as fast, to real time", false, false, faster},
      {Key::Num1, false, "1", "cutaway", false, false, [](App& a) { a.view.mode = Mode::cutaway; }},
      {Key::Num2, false, "2", "overlap of the circuits", false, false,
       [](App& a) { a.view.mode = Mode::overlap; }},
      {Key::Num3, false, "3", "two runs side by side", false, false,
       [](App& a) {
         if (a.view.second() != nullptr)
           a.view.mode = Mode::beside;
         else
           a.say("Only one run is open; --beside TRACE opens a second.");
       }},
      {Key::E, false, "E", "enlarge small openings in the overlap view", false, false,
       [](App& a) { a.view.enlarge_overlap = !a.view.enlarge_overlap; }},
      {Key::T, false, "T", "strips on or off", false, false,
       [](App& a) { a.view.show_strips = !a.view.show_strips; }},
      {Key::A, false, "A", "add a channel to the strips", false, false,
       [](App& a) { a.show_channels = !a.show_channels; }},
      {Key::Add, false, "Plus", "strips: closer about the cursor", false, false,
       [](App& a) { a.view.first().strips.zoom(0.5, a.view.playback.time); }},
      {Key::Equal, false, "=", "strips: closer about the cursor", false, false,
       [](App& a) { a.view.first().strips.zoom(0.5, a.view.playback.time); }},
      {Key::Hyphen, false, "Minus", "strips: wider about the cursor", false, false,
       [](App& a) { a.view.first().strips.zoom(2.0, a.view.playback.time); }},
      {Key::Num0, false, "0", "strips: the whole run", false, false,
       [](App& a) {
         a.view.first().strips.show_all();
         a.view.look.zoom = 1.0;
       }},
      {Key::N, false, "N", "names in the drawing on or off", false, false,
       [](App& a) { a.view.look.labels = !a.view.look.labels; }},
      {Key::M, false, "M", "air marks and fuel dots on or off", false, false,
       [](App& a) { a.view.look.marks = !a.view.look.marks; }},
      {Key::D, false, "D", "dark or light", false, false, [](App& a) { a.view.dark = !a.view.dark; }},
      {Key::G, false, "G", "lessons", false, false, [](App& a) { a.show_lessons = !a.show_lessons; }},
      {Key::Enter, false, "Enter", "lesson: go on, or show the answer", false, false, lesson_next},
      {Key::BackSpace, false, "Backspace", "lesson: one step back", false, false, lesson_back},
      {Key::P, false, "P", "picture of this view into glassbowl.png", false, false,
       [](App& a) { a.want_picture = true; }},
      {Key::W, false, "W", "live: throttle 5 % more", true, false, [](App& a) { move_throttle(a, 0.05); }},
      {Key::S, false, "S", "live: throttle 5 % less", true, false, [](App& a) { move_throttle(a, -0.05); }},
      {Key::B, false, "B", "live: snap the throttle open and read the blip lag", true, false, snap},
      {Key::C, false, "C", "live: change parts", true, false,
       [](App& a) { a.show_changes = !a.show_changes; }},
      {Key::R, false, "R", "live: record to a trace, or stop", true, false, record},
      {Key::BackSpace, true, "Shift Backspace", "live: start anew", true, false, reset},
      {Key::Escape, false, "Escape", "close what is open, leave a lesson", false, false, escape},
      {Key::Q, false, "Q", "quit", false, false, [](App& a) { a.quit = true; }}};
  return list;
}

bool run_command(App& app, int key, bool shift) {
  for (const auto& command : commands()) {
    if (command.key != key || command.shift != shift) continue;
    if (app.live.empty() ? command.live_only : command.replay_only) continue;
    command.run(app);
    return true;
  }
  return false;
}

}  // namespace glassbowl::viz
