#pragma once
#include <filesystem>
#include <functional>
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "viz/export.hpp"
#include "viz/panels/part_changes.hpp"
#include "viz/panels/undo.hpp"
#include "viz/sound/speaker.hpp"
#include "viz/source/live_source.hpp"
#include "viz/view.hpp"

#include <SFML/Window/Event.hpp>

namespace glassbowl::viz {

/// Panels that open over the view, one at a time.
enum class Panel { none, keys, channels, lessons, changes, exporting };

/// What the panels share: the view, and what is open.
struct App {
  App(View& shown, const sf::Font& face, std::vector<LiveSource*> benches,
      std::shared_ptr<sim::LiveClock> shared_clock)
      : view(shown),
        font(face),
        live(std::move(benches)),
        clock(std::move(shared_clock)),
        settings(live.size()) {}

  View& view;
  const sf::Font& font;
  std::vector<LiveSource*> live;  ///< empty in a replay
  std::shared_ptr<sim::LiveClock> clock;
  std::vector<BikeSetting> settings;  ///< of each live bike, as wanted
  Undo undo;
  int hand = -1;          ///< live bike that controls reach; -1: all
  double hand_age = 1e9;  ///< [s] since a control was moved or a part changed
  Panel panel = Panel::none;
  bool want_picture = false, want_panes = false, quit = false, live_paused = true;
  bool want_print = false;  ///< a picture black on white
  bool want_start = false, want_full_screen = false;
  std::optional<Lesson> want_lesson;  ///< on a run of its own
  std::string message;
  std::filesystem::path message_file;  ///< that the message speaks of; empty if of none
  double message_age = 1e9;            ///< [s]
  std::string channel_filter;
  std::vector<Lesson> lessons;
  Speaker speaker;
  ExportPlan export_plan;          ///< as the panel shows it
  std::unique_ptr<ExportJob> job;  ///< while a span is being exported

  void say(std::string text, std::filesystem::path file = {}) {
    message = std::move(text);
    message_file = std::move(file);
    message_age = 0.0;
  }
  /// Shows a lesson on the present run, or asks for its own run where it does not fit.
  void begin_lesson(const Lesson& lesson);
  void toggle(Panel which) { panel = panel == which ? Panel::none : which; }
  Source& source() { return *view.first().source; }
  bool reaches(std::size_t bike) const { return hand < 0 || static_cast<std::size_t>(hand) == bike; }
  bool recording() const { return !live.empty() && live.front()->recording(); }

  /// Changes what hands hold on every bike that they reach; `what` names the control.
  void adjust(const std::string& what, const std::function<void(sim::LiveControls&)>& change);
  /// Sets a key of the case on every bike in reach; an empty value gives back what the case says.
  void set_part(const std::string& key, const std::string& value);
  /// Moves a size by so many of its steps, on every bike in reach from its own present value.
  void step_part(const PartChange& part, int steps);
  void undo_change();
  void redo_change();
  /// Every live bike begins again, with its changed parts or as in its case.
  void restart(sim::LiveRestart how);
  /// Takes over what schedules and a fresh start have set meanwhile.
  void follow_controls();
  void set_rate(double rate);
  void toggle_playing();
  void start_export();
  /// One picture of the export that is under way.
  void step_export();

 private:
  void change(const std::string& what, bool joins,
              const std::function<void(std::size_t bike, BikeSetting&)>& change);
  void apply(std::size_t bike, const BikeSetting& wanted);
  bool replace(const std::vector<BikeSetting>& from, const std::vector<BikeSetting>& to);
};

/// The one key that is held while another is pressed; `other` is none that a command has.
enum class Modifier { none, shift, control, other };
Modifier modifier_of(const sf::Event::KeyEvent& key);

/// One thing that can be done, by key and by the list of keys.
struct Command {
  int key;  ///< sf::Keyboard::Key
  Modifier with;
  const char* key_name;
  const char* text;
  bool live_only, replay_only;
  void (*run)(App&);
};

struct CommandGroup {
  const char* name;
  std::vector<Command> commands;
};

/// Every key, as the list that F1 shows has them.
const std::vector<CommandGroup>& command_groups();
bool run_command(App& app, int key, Modifier with = Modifier::none);
/// The command whose key is called so; null if there is none.
const Command* command_named(const std::string& key_name);

void draw_tool_bar(App& app, float height);
void draw_transport(App& app, float height);
/// Back, next and leave, in the lesson's own place.
void draw_lesson_buttons(App& app);
/// What there is to say, for some seconds, above the lowest `above` pixels.
void draw_message(App& app, float above);
void draw_key_list(App& app);
void draw_channel_list(App& app);
void draw_lesson_list(App& app);
void draw_export(App& app);
void draw_live_controls(App& app, float top, float height, float width);
void draw_part_changes(App& app);

/// Where a panel opens: below the tool bar, in the middle or so far from the right edge; before scaling.
void place_panel(float width, float from_right = -1);

}  // namespace glassbowl::viz
