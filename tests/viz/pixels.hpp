#pragma once
#include <SFML/Graphics/Image.hpp>
#include <SFML/Graphics/RenderTexture.hpp>
#include <cmath>
#include <cstdlib>
#include <random>

#include "viz/look/canvas.hpp"
#include "viz/look/typeface.hpp"

namespace glassbowl::viz {

inline const sf::Font& test_font() {
  static Typeface face;
  static const bool loaded = (load_typeface(face, {}), true);
  (void)loaded;
  return face.font;
}

inline int distance(sf::Color a, sf::Color b) {
  return std::abs(a.r - b.r) + std::abs(a.g - b.g) + std::abs(a.b - b.b);
}

/// Draws what `fill` puts on a canvas of 1280 x 720.
template <class Fill>
sf::Image picture(Fill fill) {
  static sf::RenderTexture target;
  if (target.getSize().x == 0) target.create(1280, 720);
  static Canvas canvas(test_font());
  canvas.begin({1280, 720}, 1.0F);
  fill(canvas);
  target.clear(sf::Color::Black);
  canvas.draw_to(target);
  target.display();
  return target.getTexture().copyToImage();
}

inline sf::Color pixel(const sf::Image& image, float x, float y) {
  return image.getPixel(static_cast<unsigned>(x), static_cast<unsigned>(y));
}

/// Times within a run, the same in every test run.
inline std::vector<double> random_times(std::size_t count, double from, double to) {
  std::mt19937 generator(20260117);
  std::uniform_real_distribution<double> spread(from, to);
  std::vector<double> out(count);
  for (double& t : out) t = spread(generator);
  return out;
}

}  // namespace glassbowl::viz
