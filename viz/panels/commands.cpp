#include <SFML/Window/Keyboard.hpp>

#include <algorithm>
#include <cmath>

#include "sim/api/error.hpp"
#include "viz/panels/app.hpp"

namespace glassbowl::viz {
namespace {

using Key = sf::Keyboard;
constexpr double degree = 3.14159265358979323846 / 180.0;

void step(App& a, double degrees) {
  a.view.playback.step_angle(degrees * degree, a.source());
}
void escape(App& a) {
  if (a.job)
    a.job.reset(), a.say("The export was stopped; nothing was written.");
  else if (a.panel != Panel::none)
    a.panel = Panel::none;
  else if (a.view.spoken)
    a.view.spoken.reset();
  else
    a.view.set_lesson(nullptr);
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
void throttle(App& a, double by) {
  a.adjust("throttle", [by](sim::LiveControls& c) { c.throttle = std::clamp(c.throttle + by, 0.0, 1.0); });
}
void choke(App& a, double by) {
  a.adjust("choke", [by](sim::LiveControls& c) { c.choke = std::clamp(c.choke + by, 0.0, 1.0); });
}
void altitude(App& a, double by) {
  a.adjust("altitude", [by](sim::LiveControls& c) { c.altitude = std::clamp(c.altitude + by, 0.0, 3000.0); });
}
void speed(App& a, double by) {
  a.adjust("held speed", [by](sim::LiveControls& c) {
    c.load = sim::LiveLoad::held_speed;
    c.speed = std::clamp(c.speed + by, 60.0, 750.0);
  });
}
void snap(App& a) {
  for (std::size_t i = 0; i < a.live.size(); ++i)
    if (a.reaches(i)) a.live[i]->bench().snap(0.6, 0.8);
  a.say("Snapping the throttle open to 60 %: the blip lag follows at the right.");
}
void record(App& a) {
  if (a.recording()) {
    for (auto* live : a.live) live->bench().stop_recording();
    return;
  }
  for (std::size_t i = 0; i < a.live.size(); ++i)
    a.live[i]->bench().record(free_name(a.live.size() > 1 ? (i == 0 ? "left" : "right") : "live", ".h5"));
}
void next_hand(App& a) {
  if (a.live.size() < 2) return a.say("Only one bike runs; --beside CASE runs a second.");
  a.hand = a.hand == 1 ? -1 : a.hand + 1;
  a.say(a.hand < 0 ? "Controls reach both bikes." : a.hand == 0 ? "Left bike only." : "Right bike only.");
}
void zoom_strips(App& a, double factor) {
  a.view.first().strips.zoom(factor, a.view.playback.time);
}
void pan_strips(App& a, double share) {
  auto& strips = a.view.first().strips;
  strips.pan(share * (strips.to() - strips.from()));
}
void look_closer(App& a, double factor) {
  a.view.zoom_drawing(factor, std::nullopt);
}

}  // namespace

void App::set_rate(double rate) {
  view.playback.set_rate(rate);
  if (clock) clock->set_rate(view.playback.rate);
  // Rows close enough that slow motion moves in every picture.
  for (auto* bench : live)
    bench->bench().set_row_interval(std::clamp(view.playback.rate / 60.0 / 2.0, 4e-5, 5e-4));
}

void App::toggle_playing() {
  if (live.empty()) {
    if (!view.playback.playing && view.playback.time >= source().last_time())
      view.playback.time = source().first_time();
    view.playback.playing = !view.playback.playing;
    return;
  }
  live_paused = !live_paused;
  clock->set_paused(live_paused);
}

void App::start_export() {
  if (!live.empty() && !live_paused) toggle_playing();
  try {
    job = std::make_unique<ExportJob>(view, font, export_plan);
    panel = Panel::exporting;
  } catch (const sim::Error& error) {
    say(error.what());
  }
}

void App::step_export() {
  if (!job) return;
  try {
    if (job->step()) return;
    std::error_code ignored;
    const auto file = std::filesystem::absolute(job->target(), ignored);
    say("Exported to " + file.string(), file);
    panel = Panel::none;
  } catch (const sim::Error& error) {
    say(error.what());
  }
  job.reset();
}

const std::vector<CommandGroup>& command_groups() {
  static const std::vector<CommandGroup> groups{
      {"Time",
       {{Key::Space, Modifier::none, "Space", "play or pause", false, false,
         [](App& a) { a.toggle_playing(); }},
        {Key::Right, Modifier::none, "Right", "one crank degree on", false, true,
         [](App& a) { step(a, 1.0); }},
        {Key::Left, Modifier::none, "Left", "one crank degree back", false, true,
         [](App& a) { step(a, -1.0); }},
        {Key::Right, Modifier::shift, "Shift+Right", "one engine cycle on", false, true,
         [](App& a) { step(a, 720.0); }},
        {Key::Left, Modifier::shift, "Shift+Left", "one engine cycle back", false, true,
         [](App& a) { step(a, -720.0); }},
        {Key::Home, Modifier::none, "Home", "to the start", false, true,
         [](App& a) { a.view.playback.go_to(a.source().first_time(), a.source()); }},
        {Key::End, Modifier::none, "End", "to the end", false, true,
         [](App& a) { a.view.playback.go_to(a.source().last_time(), a.source()); }},
        {Key::L, Modifier::none, "L", "loop this engine cycle", false, true,
         [](App& a) { a.view.playback.loop_cycle = !a.view.playback.loop_cycle; }},
        {Key::Up, Modifier::none, "Up", "twice as fast, to real time", false, false,
         [](App& a) { a.set_rate(a.view.playback.rate * 2.0); }},
        {Key::Down, Modifier::none, "Down", "half as fast, to 1/2000", false, false,
         [](App& a) { a.set_rate(a.view.playback.rate / 2.0); }}}},
      {"Graphs",
       {{Key::T, Modifier::none, "T", "graphs on or off", false, false,
         [](App& a) { a.view.show_strips = !a.view.show_strips; }},
        {Key::A, Modifier::none, "A", "add or remove channels", false, false,
         [](App& a) { a.toggle(Panel::channels); }},
        {Key::Add, Modifier::none, "Plus", "zoom in about the cursor", false, false,
         [](App& a) { zoom_strips(a, 0.5); }},
        {Key::Hyphen, Modifier::none, "Minus", "zoom out about the cursor", false, false,
         [](App& a) { zoom_strips(a, 2.0); }},
        {Key::RBracket, Modifier::none, "]", "later", false, false, [](App& a) { pan_strips(a, 0.25); }},
        {Key::LBracket, Modifier::none, "[", "earlier", false, false, [](App& a) { pan_strips(a, -0.25); }},
        {Key::Num0, Modifier::none, "0", "the whole run; drawing at full size", false, false,
         [](App& a) {
           a.view.first().strips.show_all();
           a.view.look.zoom = 1.0;
         }}}},
      {"Lessons",
       {{Key::G, Modifier::none, "G", "list of lessons", false, false,
         [](App& a) { a.toggle(Panel::lessons); }},
        {Key::Enter, Modifier::none, "Enter", "go on, or show the answer", false, false, lesson_next},
        {Key::BackSpace, Modifier::none, "Backspace", "one step back", false, false, lesson_back}}},
      {"View",
       {{Key::Num1, Modifier::none, "1", "cutaway", false, false,
         [](App& a) { a.view.mode = Mode::cutaway; }},
        {Key::Num2, Modifier::none, "2", "overlap of the circuits", false, false,
         [](App& a) { a.view.mode = Mode::overlap; }},
        {Key::E, Modifier::none, "E", "overlap: enlarge small openings", false, false,
         [](App& a) { a.view.enlarge_overlap = !a.view.enlarge_overlap; }},
        {Key::Num3, Modifier::none, "3", "two runs side by side", false, false,
         [](App& a) {
           if (a.view.second() != nullptr)
             a.view.mode = Mode::beside;
           else
             a.say("Only one run is open; --beside opens a second.");
         }},
        {Key::Y, Modifier::none, "Y", "two runs: at the same time, or at the same crank angle", false, false,
         [](App& a) {
           a.view.align_crank = !a.view.align_crank;
           a.say(a.view.align_crank ? "Both runs at the same crank angle." : "Both runs at the same time.");
         }},
        {Key::Period, Modifier::none, ".", "explain the next part", false, false,
         [](App& a) { a.view.speak(1); }},
        {Key::Comma, Modifier::none, ",", "explain the part before", false, false,
         [](App& a) { a.view.speak(-1); }},
        {Key::PageUp, Modifier::none, "PageUp", "drawing: zoom in", false, false,
         [](App& a) { look_closer(a, 1.5); }},
        {Key::PageDown, Modifier::none, "PageDown", "drawing: zoom out", false, false,
         [](App& a) { look_closer(a, 1 / 1.5); }},
        {Key::N, Modifier::none, "N", "names in the drawing", false, false,
         [](App& a) { a.view.look.labels = !a.view.look.labels; }},
        {Key::M, Modifier::none, "M", "air marks and fuel dots", false, false,
         [](App& a) { a.view.look.marks = !a.view.look.marks; }},
        {Key::D, Modifier::none, "D", "dark or light", false, false,
         [](App& a) { a.view.dark = !a.view.dark; }},
        {Key::Z, Modifier::none, "Z", "large type, for a projector", false, false,
         [](App& a) { a.view.large_type = !a.view.large_type; }}}},
      {"Live bench",
       {{Key::W, Modifier::none, "W", "throttle 5 % more", true, false, [](App& a) { throttle(a, 0.05); }},
        {Key::S, Modifier::none, "S", "throttle 5 % less", true, false, [](App& a) { throttle(a, -0.05); }},
        {Key::B, Modifier::none, "B", "snap the throttle open, read the blip lag", true, false, snap},
        {Key::K, Modifier::none, "K", "choke or enrichment 10 % more", true, false,
         [](App& a) { choke(a, 0.1); }},
        {Key::K, Modifier::shift, "Shift+K", "choke or enrichment 10 % less", true, false,
         [](App& a) { choke(a, -0.1); }},
        {Key::F, Modifier::none, "F", "fuel tap open or shut", true, false,
         [](App& a) { a.adjust("fuel tap", [](sim::LiveControls& c) { c.tap = c.tap > 0.5 ? 0.0 : 1.0; }); }},
        {Key::H, Modifier::none, "H", "300 m higher", true, false, [](App& a) { altitude(a, 300.0); }},
        {Key::H, Modifier::shift, "Shift+H", "300 m lower", true, false, [](App& a) { altitude(a, -300.0); }},
        {Key::O, Modifier::none, "O", "load: speed held, neutral, in gear", true, false,
         [](App& a) {
           a.adjust("load", [](sim::LiveControls& c) {
             c.load = static_cast<sim::LiveLoad>((static_cast<int>(c.load) + 1) % 3);
           });
         }},
        {Key::U, Modifier::none, "U", "held speed 200 rpm more", true, false,
         [](App& a) { speed(a, 20.944); }},
        {Key::U, Modifier::shift, "Shift+U", "held speed 200 rpm less", true, false,
         [](App& a) { speed(a, -20.944); }},
        {Key::C, Modifier::none, "C", "change parts and faults", true, false,
         [](App& a) { a.toggle(Panel::changes); }},
        {Key::Num4, Modifier::none, "4", "hands on both bikes, left, right", true, false, next_hand},
        {Key::R, Modifier::none, "R", "record to a trace, or stop", true, false, record},
        {Key::Z, Modifier::control, "Ctrl+Z", "undo the last change", true, false,
         [](App& a) { a.undo_change(); }},
        {Key::Y, Modifier::control, "Ctrl+Y", "redo it", true, false, [](App& a) { a.redo_change(); }},
        {Key::BackSpace, Modifier::shift, "Shift+Backspace", "restart, changed parts kept", true, false,
         [](App& a) { a.restart(sim::LiveRestart::keep_changes); }},
        {Key::BackSpace, Modifier::control, "Ctrl+Backspace", "restart, parts and faults as in the case",
         true, false, [](App& a) { a.restart(sim::LiveRestart::as_in_case); }}}},
      {"Window",
       {{Key::F1, Modifier::none, "F1", "this list", false, false, [](App& a) { a.toggle(Panel::keys); }},
        {Key::F6, Modifier::none, "F6", "controls by keyboard: arrows, Space, F6 to the next bar", false,
         false, [](App& a) { a.want_panes = true; }},
        {Key::O, Modifier::control, "Ctrl+O", "start page: another bike, ride, lesson or file", false, false,
         [](App& a) { a.want_start = true; }},
        {Key::F11, Modifier::none, "F11", "full screen", false, false,
         [](App& a) { a.want_full_screen = true; }},
        {Key::P, Modifier::none, "P", "picture of this view", false, false,
         [](App& a) { a.want_picture = true; }},
        {Key::P, Modifier::control, "Ctrl+P", "the same black on white, for paper", false, false,
         [](App& a) { a.want_picture = a.want_print = true; }},
        {Key::X, Modifier::none, "X", "export a span as video, page or sound", false, false,
         [](App& a) { a.toggle(Panel::exporting); }},
        {Key::Escape, Modifier::none, "Escape", "close, leave, stop", false, false, escape},
        {Key::Q, Modifier::none, "Q", "quit", false, false, [](App& a) { a.quit = true; }}}}};
  return groups;
}

Modifier modifier_of(const sf::Event::KeyEvent& key) {
  if (key.alt || key.system || (key.control && key.shift)) return Modifier::other;
  return key.control ? Modifier::control : key.shift ? Modifier::shift : Modifier::none;
}

bool run_command(App& app, int key, Modifier with) {
  if (key == Key::Equal) key = Key::Add;  // the same key without shift on many keyboards
  if (key == Key::Subtract) key = Key::Hyphen;
  if ((key == Key::Add || key == Key::Hyphen) && with == Modifier::shift) with = Modifier::none;
  for (const auto& group : command_groups())
    for (const auto& command : group.commands) {
      if (command.key != key || command.with != with) continue;
      if (app.live.empty() ? command.live_only : command.replay_only) continue;
      command.run(app);
      return true;
    }
  return false;
}

const Command* command_named(const std::string& key_name) {
  for (const auto& group : command_groups())
    for (const auto& command : group.commands)
      if (key_name == command.key_name) return &command;
  return nullptr;
}

}  // namespace glassbowl::viz
