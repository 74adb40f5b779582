#pragma once
#include <SFML/Graphics/RenderWindow.hpp>
#include <SFML/Window/Event.hpp>
#include <filesystem>
#include <vector>

namespace glassbowl::viz {

/// Joins Dear ImGui to an SFML window: events in, time, and drawing by the OpenGL 2 renderer.
class ImGuiSfml {
 public:
  explicit ImGuiSfml(const std::filesystem::path& font);
  ~ImGuiSfml();
  ImGuiSfml(const ImGuiSfml&) = delete;
  ImGuiSfml& operator=(const ImGuiSfml&) = delete;

  void handle(const sf::Event& event);
  void begin(sf::RenderWindow& window, float seconds, float scale, bool dark);
  void draw(sf::RenderWindow& window);

  bool takes_mouse() const;
  bool takes_text() const;

  /// Whether arrows and Space belong to the controls instead of the view.
  bool walking() const { return walking_; }
  void walk(bool on);
  /// Walks in the next of these windows.
  void walk_on(const std::vector<const char*>& windows);

 private:
  void set_scale(float scale);

  std::filesystem::path font_;
  float scale_ = 0.0F;
  bool dark_ = false, styled_ = false, walking_ = false;
  std::size_t pane_ = 0;
};

}  // namespace glassbowl::viz
