#include "viz/window.hpp"

#include <fmt/format.h>
#include <imgui.h>
#include <SFML/Graphics/RenderWindow.hpp>
#include <SFML/Graphics/Texture.hpp>
#include <SFML/Graphics/View.hpp>
#include <SFML/System/Sleep.hpp>

#include <algorithm>
#include <cmath>
#include <ctime>
#include <deque>
#include <limits>
#include <optional>
#include <sstream>
#include <utility>

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "sim/api/own_folder.hpp"
#include "sim/api/run.hpp"
#include "viz/drop_target.hpp"
#include "viz/export.hpp"
#include "viz/full_screen.hpp"
#include "viz/imgui_sfml.hpp"
#include "viz/pacing.hpp"
#include "viz/png.hpp"
#include "viz/quiet.hpp"
#include "viz/start/recent.hpp"
#include "viz/start/start_page.hpp"

namespace glassbowl::viz {
namespace {

constexpr float tool_height = 34.0F, transport_height = 38.0F, controls_width = 210.0F;
constexpr int ready = 3;                                        // pictures until all controls are there
constexpr int warming = 20;                                     // pictures until fonts and shaders are made
constexpr double slow_picture = 0.0175, quick_picture = 0.006;  // [s]
const sf::Time picture_time = sf::microseconds(16667);
constexpr double live_window = 4.0;  // [s] of strips that follow a live run

/// Keys that walk through controls, when a panel is open or F6 has led there.
bool walks(sf::Keyboard::Key key) {
  using Key = sf::Keyboard;
  return key == Key::Tab || key == Key::Left || key == Key::Right || key == Key::Up || key == Key::Down ||
         key == Key::Space || key == Key::Enter || key == Key::Home || key == Key::End ||
         key == Key::PageUp || key == Key::PageDown;
}

/// Key events that were asked for: one goes down, next picture it comes up.
class Presses {
 public:
  explicit Presses(const std::string& names) {
    std::istringstream words(names);
    for (std::string word; words >> word;) {
      sf::Event::KeyEvent key{sf::Keyboard::Unknown, false, false, false, false};
      if (const Command* command = command_named(word))
        key.code = static_cast<sf::Keyboard::Key>(command->key), key.shift = command->with == Modifier::shift,
        key.control = command->with == Modifier::control;
      else if (word == "Tab")
        key.code = sf::Keyboard::Tab;
      else
        throw sim::Error(sim::ErrorKind::input,
                         word + ": no key of that name; the list of keys (F1) has their names");
      keys_.push_back(key);
    }
  }
  std::optional<sf::Event> next() {
    if (keys_.empty()) return std::nullopt;
    sf::Event event{};
    event.type = down_ ? sf::Event::KeyReleased : sf::Event::KeyPressed;
    event.key = keys_.front();
    if (down_) keys_.pop_front();
    down_ = !down_;
    return event;
  }

 private:
  std::deque<sf::Event::KeyEvent> keys_;
  bool down_ = false;
};

class Window {
 public:
  Window(std::unique_ptr<Session> session, const Typeface& face, const WindowPlan& plan)
      : session_(std::move(session)),
        plan_(plan),
        window_(sf::VideoMode(plan.width, plan.height), "glassbowl", sf::Style::Default),
        imgui_(face.file),
        drops_(window_.getSystemHandle()),
        font_(face.font),
        canvas_(face.font),
        presses_(plan.keys) {
    window_.setKeyRepeatEnabled(true);
    dark_ = plan.dark;
    large_type_ = plan.large_type;
    if (session_) begin_session();
  }

  WindowReport run() {
    WindowReport report;
    sf::Clock clock, since_begin, since_warm;
    std::clock_t processor = 0;
    sf::Time due = since_begin.getElapsedTime();
    while (window_.isOpen() && !quit_) {
      const bool paced = plan_.pictures == 0 || (session_ && !session_->app.live.empty());
      const sf::Clock work;
      const float seconds = std::min(0.1F, clock.restart().asSeconds());
      events();
      session_ ? picture(seconds) : start_picture(seconds);
      const bool last = plan_.pictures > 0 && drawn_ + 1 >= warming + plan_.pictures;
      if (last) shoot();
      if (session_) session_->app.step_export();
      window_.display();
      if ((plan_.pictures == 0 || plan_.adapt) && session_)
        adapt(static_cast<double>(work.getElapsedTime().asSeconds()));
      if (drawn_ >= warming) report.work.add(static_cast<double>(work.getElapsedTime().asSeconds()));
      if (++drawn_ == warming) {
        processor = std::clock();
        since_warm.restart();
        if (plan_.warmed) plan_.warmed();
      }
      if (last) {
        if (plan_.ended) plan_.ended();
        break;
      }
      change_session();
      // By the clock, not after one another: a late picture is made up for by the next ones.
      due = std::max(due + picture_time, since_begin.getElapsedTime() - picture_time);
      if (paced) sf::sleep(due - since_begin.getElapsedTime());
    }
    const auto pictures = static_cast<double>(std::max<std::size_t>(1, report.work.count()));
    report.processor_time = static_cast<double>(std::clock() - processor) / CLOCKS_PER_SEC / pictures;
    report.pictures_per_second = pictures / static_cast<double>(since_warm.getElapsedTime().asSeconds());
    return report;
  }

 private:
  App& app() { return session_->app; }
  const App& app() const { return session_->app; }

  /// Keeps 50 pictures a second on computers that draw slowly: marks and dots are what costs most.
  void adapt(double seconds) {
    work_ += 0.05 * (seconds - work_);
    if (++since_adapted_ < 90) return;
    const unsigned before = thinned_;
    if (work_ > slow_picture && thinned_ < 8) thinned_ *= 2;
    if (work_ < quick_picture && thinned_ > 1) thinned_ /= 2;
    if (thinned_ == before) return;
    since_adapted_ = 0;
    for (auto* run : {&session_->view.first(), session_->view.second()})
      if (run != nullptr) run->cutaway.thin_out(thinned_);
  }

  void begin_session() {
    session_->view.dark = dark_;
    session_->view.large_type = large_type_;
    imgui_.walk(false);
    panel_ = Panel::none;
    start_.reset();
    if (!app().live.empty() && app().live_paused) app().toggle_playing();
    for (auto* run : {&session_->view.first(), session_->view.second()})
      if (run != nullptr) run->cutaway.thin_out(thinned_);
    if (app().live.empty() && plan_.pictures > 0) session_->view.playback.playing = true;
  }

  /// Leaves for the start page, or goes from there to what was chosen.
  void change_session() {
    if (session_ && app().quit) quit_ = true;
    if (session_ && app().want_lesson) {
      lesson_ = std::exchange(app().want_lesson, std::nullopt);
      compute_lesson();
    }
    if (session_ && app().want_start) {
      dark_ = session_->view.dark;
      large_type_ = session_->view.large_type;
      session_.reset();
    }
    if (chosen_ && chosen_->lesson) {
      lesson_ = chosen_->lesson;
      compute_lesson();
      chosen_.reset();
    }
    if (chosen_) open(*std::exchange(chosen_, std::nullopt));
    if (run_ && run_->finished()) {
      Choice choice;
      choice.trace = run_->trace().string();
      choice.lesson = lesson_;
      const std::string problem = run_->problem();
      run_.reset();
      problem.empty() ? open(choice) : say(problem);
    }
  }

  void compute_lesson() {
    try {
      if (!own_folder_) own_folder_.emplace();
      run_ = std::make_unique<sim::BackgroundRun>(lesson_->case_name,
                                                  *own_folder_ / fmt::format("lesson_{}.h5", ++runs_));
    } catch (const sim::Error& problem) {
      say(problem.what());
    }
  }

  void open(const Choice& choice) {
    try {
      auto next = Session::open(choice, font_);
      if (session_) {
        dark_ = session_->view.dark;
        large_type_ = session_->view.large_type;
      }
      if (!choice.lesson) remember(choice);
      session_ = std::move(next);
      begin_session();
    } catch (const std::exception& problem) {
      say(problem.what());
    }
  }

  void say(const std::string& problem) { session_ ? app().say(problem) : start().say(problem); }

  /// Files of one's own are listed on the start page the next time.
  static void remember(const Choice& choice) {
    std::error_code ignored;
    for (const auto& name : {choice.trace, choice.live})
      if (!name.empty() && std::filesystem::exists(name, ignored)) remember_file(name);
  }

  StartPage& start() {
    if (!start_) start_.emplace();
    return *start_;
  }

  void start_picture(float seconds) {
    const auto size = window_.getSize();
    window_.setView(sf::View(sf::FloatRect(0, 0, static_cast<float>(size.x), static_cast<float>(size.y))));
    window_.clear((dark_ ? dark_theme() : light_theme()).background);
    imgui_.begin(window_, seconds, scale(), dark_);
    imgui_.walk(true);
    if (auto choice = start().draw(dark_, quit_); choice && !run_) chosen_ = std::move(choice);
    draw_progress();
    imgui_.draw(window_);
  }

  /// While a lesson's run is computed.
  void draw_progress() {
    if (!run_) return;
    const ImVec2 size = ImGui::GetIO().DisplaySize;
    ImGui::SetNextWindowPos({0.5F * size.x, 0.5F * size.y}, ImGuiCond_Always, {0.5F, 0.5F});
    ImGui::Begin("progress", nullptr,
                 ImGuiWindowFlags_NoDecoration | ImGuiWindowFlags_AlwaysAutoResize |
                     ImGuiWindowFlags_NoSavedSettings | ImGuiWindowFlags_Tooltip);
    ImGui::Text("Computing the run of \"%s\"", lesson_ ? lesson_->title.c_str() : "");
    ImGui::ProgressBar(static_cast<float>(run_->done()), {22 * ImGui::GetFontSize(), 0});
    ImGui::End();
  }

  float scale() const {
    const Point size(static_cast<float>(window_.getSize().x), static_cast<float>(window_.getSize().y));
    return session_ ? session_->view.scale(size) : View::scale_of(size, large_type_);
  }

  Box content() const {
    const float s = scale();
    const float side = app().live.empty() ? 0.0F : controls_width * s;
    return {0, tool_height * s, static_cast<float>(window_.getSize().x) - side,
            static_cast<float>(window_.getSize().y) - (tool_height + transport_height) * s};
  }

  void events() {
    if (const auto files = drops_.take(); !files.empty() && !run_) {
      try {
        chosen_ = StartPage::choice_of(files.front());
      } catch (const std::exception& problem) {
        say(problem.what());
      }
    }
    sf::Event event;
    while (window_.pollEvent(event)) handle(event);
    if (drawn_ >= ready && !run_)
      if (const auto press = presses_.next()) handle(*press);
    if (!session_) return;
    if (app().want_panes) {
      imgui_.walk_on(app().live.empty() ? std::vector{"tools", "transport"}
                                        : std::vector{"tools", "Controls", "transport"});
      app().want_panes = false;
    }
    if (app().panel != Panel::none && panel_ == Panel::none) imgui_.walk(true);
    if (app().panel == Panel::none && panel_ != Panel::none) imgui_.walk(false);
    panel_ = app().panel;
  }

  void handle(const sf::Event& event) {
    imgui_.handle(event);
    if (event.type == sf::Event::Closed) window_.close();
    if (event.type == sf::Event::KeyPressed && event.key.code == sf::Keyboard::F11)
      return toggle_full_screen(window_.getSystemHandle());
    if (!session_) return start_key(event);
    if (event.type == sf::Event::KeyPressed) key(event.key);
    if (event.type == sf::Event::MouseLeft) app().view.pointer = {-1, -1};
    if (event.type == sf::Event::MouseMoved)
      moved({static_cast<float>(event.mouseMove.x), static_cast<float>(event.mouseMove.y)});
    if (imgui_.takes_mouse()) return;
    if (event.type == sf::Event::MouseWheelScrolled) wheel(event.mouseWheelScroll);
    if (event.type == sf::Event::MouseButtonPressed) {
      imgui_.walk(false);
      moved({static_cast<float>(event.mouseButton.x), static_cast<float>(event.mouseButton.y)}, true);
    }
  }

  void start_key(const sf::Event& event) {
    if (event.type == sf::Event::KeyPressed && event.key.code == sf::Keyboard::Q && !imgui_.takes_text())
      quit_ = true;
  }

  void key(const sf::Event::KeyEvent& key) {
    if (imgui_.takes_text() && key.code != sf::Keyboard::Escape) return;
    if (imgui_.walking()) {
      if (walks(key.code)) return;
      if (key.code == sf::Keyboard::Escape) {
        imgui_.walk(false);
        if (app().panel == Panel::none) return;
      }
    } else if (key.code == sf::Keyboard::Tab) {
      app().want_panes = true;
    }
    run_command(app(), key.code, modifier_of(key));
  }

  void moved(Point at, bool pressed = false) {
    View& view = app().view;
    view.pointer = imgui_.takes_mouse() ? Point(-1, -1) : at;
    auto& strips = view.first().strips;
    const bool held = pressed || sf::Mouse::isButtonPressed(sf::Mouse::Left);
    if (held && !imgui_.takes_mouse() && view.show_strips && view.mode != Mode::overlap &&
        strips.area().holds(at)) {
      view.playback.go_to(strips.time_at(at.x), *view.first().source);
    } else if (held && !pressed && !imgui_.takes_mouse() &&
               view.first().cutaway.carburetor_stage().box.holds(dragged_)) {
      view.drag_drawing(at - dragged_);
    }
    dragged_ = at;
  }

  void wheel(const sf::Event::MouseWheelScrollEvent& event) {
    View& view = app().view;
    const Point at(static_cast<float>(event.x), static_cast<float>(event.y));
    const double factor = std::pow(1.25, static_cast<double>(event.delta));
    auto& strips = view.first().strips;
    if (view.show_strips && strips.area().holds(at)) {
      strips.zoom(1.0 / factor, strips.time_at(at.x));
    } else {
      view.zoom_drawing(factor, at);
    }
  }

  /// A message that ends in the name of a file that is there offers its folder.
  void say_of_file(std::string message) {
    constexpr std::string_view recorded = "Recorded to ";
    std::error_code ignored;
    if (!message.starts_with(recorded)) return app().say(std::move(message));
    const auto file = std::filesystem::absolute(message.substr(recorded.size()), ignored);
    app().say(std::string(recorded) + file.string(), file);
  }

  void follow_live() {
    if (app().live.empty()) return;
    double reached = std::numeric_limits<double>::infinity();
    for (auto* live : app().live) {
      live->refresh();
      for (auto& message : live->take_messages()) say_of_file(std::move(message));
      if (!live->stalled()) reached = std::min(reached, live->last_time());
    }
    app().follow_controls();
    if (app().live_paused || app().job) return;
    // One time for all: what the slowest has reached.
    app().view.playback.time = std::isfinite(reached) ? reached : app().source().last_time();
    app().view.first().strips.follow(
        std::max(0.2, live_window * std::min(1.0, app().view.playback.rate * 4.0)));
  }

  void picture(float seconds) {
    const auto size = window_.getSize();
    const Point pixels(static_cast<float>(size.x), static_cast<float>(size.y));
    window_.setView(sf::View(sf::FloatRect(0, 0, pixels.x, pixels.y)));
    app().message_age += static_cast<double>(seconds);
    app().hand_age += static_cast<double>(seconds);
    follow_live();
    app().view.moving = app().live.empty() ? app().view.playback.playing : !app().live_paused;
    app().view.advance(plan_.pictures > 0 ? 1.0 / 60.0 : static_cast<double>(seconds));
    if (app().view.moving)
      app().speaker.play(app().source(), heard_, app().view.playback.time, static_cast<double>(seconds));
    heard_ = app().view.playback.time;
    app().view.draw(canvas_, pixels, content());
    window_.clear(app().view.theme().background);
    canvas_.draw_to(window_);

    const float s = scale();
    imgui_.begin(window_, seconds, s, app().view.dark);
    draw_tool_bar(app(), tool_height * s);
    draw_transport(app(), transport_height * s);
    draw_live_controls(app(), tool_height * s, pixels.y - (tool_height + transport_height) * s,
                       controls_width * s);
    draw_lesson_buttons(app());
    draw_part_changes(app());
    draw_channel_list(app());
    draw_lesson_list(app());
    draw_export(app());
    draw_key_list(app());
    draw_message(app(), transport_height * s);
    draw_progress();
    imgui_.draw(window_);
    if (app().want_picture) save_picture();
  }

  void save_picture() {
    app().want_picture = false;
    Canvas own(app().font);
    app().view.print = std::exchange(app().want_print, false);
    const sf::Image image = picture_of(app().view, own, window_.getSize().x, window_.getSize().y);
    app().view.print = false;
    window_.setActive(true);
    const std::string name = free_name("glassbowl", ".png").string();
    std::error_code ignored;
    const auto whole = std::filesystem::absolute(name, ignored);
    try {
      sim::write_new_file(name, false, png_of(image));
      app().say("Picture saved: " + whole.string(), whole);
    } catch (const sim::Error& error) {
      app().say(error.what());
    }
  }

  void shoot() {
    if (plan_.shot.empty()) return;
    sf::Texture texture;
    texture.create(window_.getSize().x, window_.getSize().y);
    texture.update(window_);
    sim::write_new_file(plan_.shot, plan_.replace, png_of(texture.copyToImage()));
  }

  std::optional<sim::OwnFolder> own_folder_;  // of lessons' runs: removed after all that reads them
  std::unique_ptr<Session> session_;
  std::optional<StartPage> start_;
  std::optional<Choice> chosen_;
  std::optional<Lesson> lesson_;  // whose run is being computed
  std::unique_ptr<sim::BackgroundRun> run_;
  double work_ = 0.01;  // [s] of a picture, smoothed
  int since_adapted_ = 0;
  unsigned thinned_ = 1;
  double heard_ = 0.0;  // [s] up to which sound was played
  int runs_ = 0;
  bool quit_ = false, dark_ = true, large_type_ = false;
  Point dragged_;  // [px] where the mouse was last
  const WindowPlan& plan_;
  sf::RenderWindow window_;
  ImGuiSfml imgui_;
  DropTarget drops_;
  const sf::Font& font_;
  Canvas canvas_;
  Presses presses_;
  Panel panel_ = Panel::none;
  int drawn_ = 0;
};

}  // namespace

WindowReport run_window(std::unique_ptr<Session> session, const Typeface& face, const WindowPlan& plan) {
  std::unique_ptr<Window> window;
  {
    const Quiet quiet;  // a driver's remarks on what it lacks help nobody
    window = std::make_unique<Window>(std::move(session), face, plan);
  }
  return window->run();
}

}  // namespace glassbowl::viz
