#include "viz/window.hpp"

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

#include "sim/api/error.hpp"
#include "sim/api/new_file.hpp"
#include "viz/export.hpp"
#include "viz/imgui_sfml.hpp"
#include "viz/pacing.hpp"
#include "viz/png.hpp"
#include "viz/quiet.hpp"

namespace glassbowl::viz {
namespace {

constexpr float tool_height = 34.0F, transport_height = 38.0F, controls_width = 210.0F;
constexpr int ready = 3;     // pictures until all controls are there
constexpr int warming = 20;  // pictures until fonts and shaders are made
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
  Window(App& app, const Typeface& face, const WindowPlan& plan)
      : app_(app),
        plan_(plan),
        window_(sf::VideoMode(plan.width, plan.height), "glassbowl", sf::Style::Default),
        imgui_(face.file),
        canvas_(face.font),
        presses_(plan.keys) {
    window_.setKeyRepeatEnabled(true);
  }

  WindowReport run() {
    WindowReport report;
    sf::Clock clock, since_begin, since_warm;
    std::clock_t processor = 0;
    const bool paced = plan_.pictures == 0 || !app_.live.empty();
    sf::Time due = since_begin.getElapsedTime();
    while (window_.isOpen() && !app_.quit) {
      const sf::Clock work;
      const float seconds = std::min(0.1F, clock.restart().asSeconds());
      events();
      picture(seconds);
      const bool last = plan_.pictures > 0 && drawn_ + 1 >= warming + plan_.pictures;
      if (last) shoot();
      app_.step_export();
      window_.display();
      if (drawn_ >= warming) report.work.add(static_cast<double>(work.getElapsedTime().asSeconds()));
      if (++drawn_ == warming) {
        processor = std::clock();
        since_warm.restart();
        if (plan_.warmed) plan_.warmed();
      }
      if (last) break;
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
  float scale() const {
    return app_.view.scale(
        {static_cast<float>(window_.getSize().x), static_cast<float>(window_.getSize().y)});
  }

  Box content() const {
    const float s = scale();
    const float side = app_.live.empty() ? 0.0F : controls_width * s;
    return {0, tool_height * s, static_cast<float>(window_.getSize().x) - side,
            static_cast<float>(window_.getSize().y) - (tool_height + transport_height) * s};
  }

  void events() {
    sf::Event event;
    while (window_.pollEvent(event)) handle(event);
    if (drawn_ >= ready)
      if (const auto press = presses_.next()) handle(*press);
    if (app_.want_panes) {
      imgui_.walk_on(app_.live.empty() ? std::vector{"tools", "transport"}
                                       : std::vector{"tools", "Controls", "transport"});
      app_.want_panes = false;
    }
    if (app_.panel != Panel::none && panel_ == Panel::none) imgui_.walk(true);
    if (app_.panel == Panel::none && panel_ != Panel::none) imgui_.walk(false);
    panel_ = app_.panel;
  }

  void handle(const sf::Event& event) {
    imgui_.handle(event);
    if (event.type == sf::Event::Closed) window_.close();
    if (event.type == sf::Event::KeyPressed) key(event.key);
    if (event.type == sf::Event::MouseLeft) app_.view.pointer = {-1, -1};
    if (event.type == sf::Event::MouseMoved)
      moved({static_cast<float>(event.mouseMove.x), static_cast<float>(event.mouseMove.y)});
    if (imgui_.takes_mouse()) return;
    if (event.type == sf::Event::MouseWheelScrolled) wheel(event.mouseWheelScroll);
    if (event.type == sf::Event::MouseButtonPressed) {
      imgui_.walk(false);
      moved({static_cast<float>(event.mouseButton.x), static_cast<float>(event.mouseButton.y)}, true);
    }
  }

  void key(const sf::Event::KeyEvent& key) {
    if (imgui_.takes_text() && key.code != sf::Keyboard::Escape) return;
    if (imgui_.walking()) {
      if (walks(key.code)) return;
      if (key.code == sf::Keyboard::Escape) {
        imgui_.walk(false);
        if (app_.panel == Panel::none) return;
      }
    } else if (key.code == sf::Keyboard::Tab) {
      app_.want_panes = true;
    }
    run_command(app_, key.code, modifier_of(key));
  }

  void moved(Point at, bool pressed = false) {
    View& view = app_.view;
    view.pointer = imgui_.takes_mouse() ? Point(-1, -1) : at;
    auto& strips = view.first().strips;
    const bool held = pressed || sf::Mouse::isButtonPressed(sf::Mouse::Left);
    if (held && !imgui_.takes_mouse() && view.show_strips && view.mode != Mode::overlap &&
        strips.area().holds(at))
      view.playback.go_to(strips.time_at(at.x), *view.first().source);
  }

  void wheel(const sf::Event::MouseWheelScrollEvent& event) {
    View& view = app_.view;
    const Point at(static_cast<float>(event.x), static_cast<float>(event.y));
    const double factor = std::pow(1.25, static_cast<double>(event.delta));
    auto& strips = view.first().strips;
    if (view.show_strips && strips.area().holds(at)) {
      strips.zoom(1.0 / factor, strips.time_at(at.x));
    } else {
      view.zoom_drawing(factor, at);
    }
  }

  void follow_live() {
    if (app_.live.empty()) return;
    double reached = std::numeric_limits<double>::infinity();
    for (auto* live : app_.live) {
      live->refresh();
      for (auto& message : live->take_messages()) app_.say(std::move(message));
      if (!live->stalled()) reached = std::min(reached, live->last_time());
    }
    app_.follow_controls();
    if (app_.live_paused || app_.job) return;
    // One time for all: what the slowest has reached.
    app_.view.playback.time = std::isfinite(reached) ? reached : app_.source().last_time();
    app_.view.first().strips.follow(
        std::max(0.2, live_window * std::min(1.0, app_.view.playback.rate * 4.0)));
  }

  void picture(float seconds) {
    const auto size = window_.getSize();
    const Point pixels(static_cast<float>(size.x), static_cast<float>(size.y));
    window_.setView(sf::View(sf::FloatRect(0, 0, pixels.x, pixels.y)));
    app_.message_age += static_cast<double>(seconds);
    app_.hand_age += static_cast<double>(seconds);
    follow_live();
    app_.view.moving = app_.live.empty() ? app_.view.playback.playing : !app_.live_paused;
    app_.view.advance(plan_.pictures > 0 ? 1.0 / 60.0 : static_cast<double>(seconds));
    app_.view.draw(canvas_, pixels, content());
    window_.clear(app_.view.theme().background);
    canvas_.draw_to(window_);

    const float s = scale();
    imgui_.begin(window_, seconds, s, app_.view.dark);
    draw_tool_bar(app_, tool_height * s);
    draw_transport(app_, transport_height * s);
    draw_live_controls(app_, tool_height * s, pixels.y - (tool_height + transport_height) * s,
                       controls_width * s);
    draw_part_changes(app_);
    draw_channel_list(app_);
    draw_lesson_list(app_);
    draw_export(app_);
    draw_key_list(app_);
    draw_message(app_, transport_height * s);
    imgui_.draw(window_);
    if (app_.want_picture) save_picture();
  }

  void save_picture() {
    app_.want_picture = false;
    Canvas own(app_.font);
    const sf::Image image = picture_of(app_.view, own, window_.getSize().x, window_.getSize().y);
    window_.setActive(true);
    const std::string name = free_name("glassbowl", ".png").string();
    try {
      sim::write_new_file(name, false, png_of(image));
      app_.say("Picture in " + name);
    } catch (const sim::Error& error) {
      app_.say(error.what());
    }
  }

  void shoot() {
    if (plan_.shot.empty()) return;
    sf::Texture texture;
    texture.create(window_.getSize().x, window_.getSize().y);
    texture.update(window_);
    sim::write_new_file(plan_.shot, plan_.replace, png_of(texture.copyToImage()));
  }

  App& app_;
  const WindowPlan& plan_;
  sf::RenderWindow window_;
  ImGuiSfml imgui_;
  Canvas canvas_;
  Presses presses_;
  Panel panel_ = Panel::none;
  int drawn_ = 0;
};

}  // namespace

WindowReport run_window(App& app, const Typeface& face, const WindowPlan& plan) {
  std::unique_ptr<Window> window;
  {
    const Quiet quiet;  // a driver's remarks on what it lacks help nobody
    window = std::make_unique<Window>(app, face, plan);
  }
  return window->run();
}

}  // namespace glassbowl::viz
