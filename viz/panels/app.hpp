#pragma once
#include <SFML/System/Clock.hpp>
#include <filesystem>
#include <string>
#include <vector>

#include "viz/source/live_source.hpp"
#include "viz/view.hpp"

namespace glassbowl::viz {

/// What the panels share: the view, and what is open.
struct App {
  App(View& shown, const sf::Font& face, std::vector<LiveSource*> benches)
      : view(shown), font(face), live(std::move(benches)) {}

  View& view;
  const sf::Font& font;
  std::vector<LiveSource*> live;  ///< empty in a replay
  sim::LiveControls controls;
  bool show_keys = false, show_channels = false, show_lessons = false, show_changes = false;
  bool want_picture = false, quit = false, live_paused = true, recording = false;
  std::string message;
  double message_age = 1e9;  ///< [s]
  std::string channel_filter;
  std::vector<Lesson> lessons;
  std::filesystem::path picture_name = "glassbowl.png";

  void say(std::string text) {
    message = std::move(text);
    message_age = 0.0;
  }
  Source& source() { return *view.first().source; }
  void send_controls();
  void set_rate(double rate);
  void toggle_playing();
};

/// One thing that can be done, by key and by the list of keys.
struct Command {
  int key;  ///< sf::Keyboard::Key
  bool shift;
  const char* key_name;
  const char* text;
  bool live_only, replay_only;
  void (*run)(App&);
};

/// Every key, in the order of the list that F1 shows.
const std::vector<Command>& commands();
bool run_command(App& app, int key, bool shift);

void draw_tool_bar(App& app, float height);
void draw_transport(App& app, float height);
void draw_key_list(App& app);
void draw_channel_list(App& app);
void draw_lesson_list(App& app);
void draw_live_controls(App& app, float top, float height, float width);
void draw_part_changes(App& app);

}  // namespace glassbowl::viz
