#include "viz/window.hpp"

#include <fmt/format.h>
#include <SFML/Graphics/RenderWindow.hpp>
#include <SFML/Graphics/Texture.hpp>
#include <SFML/Graphics/View.hpp>

#include <algorithm>
#include <cmath>

#include "viz/export.hpp"
#include "viz/imgui_sfml.hpp"
#include "viz/pacing.hpp"

namespace glassbowl::viz {
namespace {

constexpr float tool_height = 34.0F, transport_height = 38.0F, controls_width = 210.0F;
constexpr double live_window = 4.0;  // [s] of strips that follow a live run

class Window {
 public:
  Window(App& app, const Typeface& face, const WindowPlan& plan)
      : app_(app),
        plan_(plan),
        window_(sf::VideoMode(plan.width, plan.height), "glassbowl", sf::Style::Default),
        imgui_(face.file),
        canvas_(face.font) {
    window_.setKeyRepeatEnabled(true);
    if (plan.pictures == 0) window_.setFramerateLimit(60);
    std::string key;
    for (const char c : plan.keys + " ") {
      if (c != ' ') {
        key += c;
        continue;
      }
      for (const auto& command : commands())
        if (key == command.key_name) command.run(app_);
      key.clear();
    }
  }

  std::string run() {
    sf::Clock clock;
    int drawn = 0;
    while (window_.isOpen() && !app_.quit) {
      const float seconds = std::min(0.1F, clock.restart().asSeconds());
      sf::Clock work;
      events();
      picture(seconds);
      times_.add(static_cast<double>(work.getElapsedTime().asSeconds()));
      if (plan_.pictures > 0 && ++drawn >= plan_.pictures) {
        shoot();
        break;
      }
      window_.display();
    }
    return fmt::format(
        "frame times: median {:.1f} ms, 95 % within {:.1f} ms, 99 % within {:.1f} ms, {} pictures",
        times_.percentile(0.5) * 1e3, times_.percentile(0.95) * 1e3, times_.percentile(0.99) * 1e3,
        times_.count());
  }

 private:
  float scale() const {
    return scale_for({static_cast<float>(window_.getSize().x), static_cast<float>(window_.getSize().y)});
  }

  Box content() const {
    const float s = scale();
    const float side = app_.live.empty() ? 0.0F : controls_width * s;
    return {0, tool_height * s, static_cast<float>(window_.getSize().x) - side,
            static_cast<float>(window_.getSize().y) - (tool_height + transport_height) * s};
  }

  void events() {
    sf::Event event;
    while (window_.pollEvent(event)) {
      imgui_.handle(event);
      if (event.type == sf::Event::Closed) window_.close();
      if (event.type == sf::Event::KeyPressed && !imgui_.takes_keys())
        run_command(app_, event.key.code, event.key.shift);
      if (event.type == sf::Event::MouseLeft) app_.view.pointer = {-1, -1};
      if (event.type == sf::Event::MouseMoved)
        moved({static_cast<float>(event.mouseMove.x), static_cast<float>(event.mouseMove.y)});
      if (imgui_.takes_mouse()) continue;
      if (event.type == sf::Event::MouseWheelScrolled) wheel(event.mouseWheelScroll);
      if (event.type == sf::Event::MouseButtonPressed)
        moved({static_cast<float>(event.mouseButton.x), static_cast<float>(event.mouseButton.y)}, true);
    }
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
    } else if (view.mode == Mode::cutaway) {
      if (view.look.zoom <= 1.0) view.look.zoom_about = at;
      view.look.zoom = std::clamp(view.look.zoom * factor, 1.0, 30.0);
    }
  }

  void follow_live() {
    for (auto* live : app_.live)
      for (auto& message : live->take_messages()) app_.say(std::move(message));
    if (app_.live.empty() || app_.live_paused) return;
    app_.view.playback.time = app_.source().last_time();
    app_.view.first().strips.follow(
        std::max(0.2, live_window * std::min(1.0, app_.view.playback.rate * 4.0)));
  }

  void picture(float seconds) {
    const auto size = window_.getSize();
    const Point pixels(static_cast<float>(size.x), static_cast<float>(size.y));
    window_.setView(sf::View(sf::FloatRect(0, 0, pixels.x, pixels.y)));
    app_.message_age += static_cast<double>(seconds);
    follow_live();
    app_.view.advance(static_cast<double>(plan_.pictures > 0 ? 1.0F / 60.0F : seconds));
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
    draw_key_list(app_);
    imgui_.draw(window_);
    if (app_.want_picture) save_picture();
  }

  void save_picture() {
    app_.want_picture = false;
    Canvas own(app_.font);
    const sf::Image image = picture_of(app_.view, own, window_.getSize().x, window_.getSize().y);
    window_.setActive(true);
    app_.say(image.saveToFile(app_.picture_name.string())
                 ? "Picture in " + app_.picture_name.string()
                 : app_.picture_name.string() + " could not be written");
  }

  void shoot() {
    if (plan_.shot.empty()) return;
    sf::Texture texture;
    texture.create(window_.getSize().x, window_.getSize().y);
    texture.update(window_);
    texture.copyToImage().saveToFile(plan_.shot);
  }

  App& app_;
  const WindowPlan& plan_;
  sf::RenderWindow window_;
  ImGuiSfml imgui_;
  Canvas canvas_;
  FrameTimes times_;
};

}  // namespace

std::string run_window(App& app, const Typeface& face, const WindowPlan& plan) {
  return Window(app, face, plan).run();
}

}  // namespace glassbowl::viz
