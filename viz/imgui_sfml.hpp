#pragma once
#include <SFML/Graphics/RenderWindow.hpp>
#include <SFML/Window/Event.hpp>
#include <filesystem>

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
  bool takes_keys() const;

 private:
  void set_scale(float scale);

  std::filesystem::path font_;
  float scale_ = 0.0F;
  bool dark_ = false, styled_ = false;
};

}  // namespace glassbowl::viz
