#include "viz/cutaway/scene.hpp"

#include <algorithm>
#include <cmath>

namespace glassbowl::viz {

double Scene::value(int channel, double fallback) const {
  const double v = now[channel];
  return std::isfinite(v) ? v : fallback;
}

sf::Color Scene::pressure(int channel) const {
  return pressure_color(value(channel, ambient), ambient, theme);
}

void Scene::metal(double left, double bottom, double right, double top) const {
  const Box box = stage.area(left, bottom, right, top);
  canvas.rect(box, theme.metal);
  canvas.frame(box, theme.metal_edge, 1.0F);
  hits.occupy(box);
}

void Scene::fuel(double left, double bottom, double right, double top, Hue hue) const {
  if (top <= bottom) return;
  const Box box = stage.area(left, bottom, right, top);
  const sf::Color color = color_of(hue, theme);
  canvas.rect(box, ground_of(hue, theme));
  if (pattern_of(hue) != Pattern::solid)
    canvas.pattern(box, pattern_of(hue), theme.dark ? faded(color, 0.9F) : mixed(color, theme.text, 0.25F));
}

void Scene::passage(double left, double bottom, double right, double top) const {
  const Box box = stage.area(left, bottom, right, top);
  canvas.rect(box.inset(-1.0F * canvas.scale()), theme.metal_edge);
  canvas.rect(box, theme.background);
  hits.occupy(box);
}

void Scene::jet(double x, double y, double half, const sim::JetSize& size, bool upright) const {
  const double free = 0.5 * size.bore * std::sqrt(std::max(0.0, 1.0 - size.blocked));
  const double along = 0.5 * std::max(size.length, 1e-3);
  const double body = std::max(half, free + 0.4e-3);
  for (const double side : {-1.0, 1.0}) {
    const double from = std::min(side * free, side * body), to = std::max(side * free, side * body);
    const Box box = upright ? stage.area(x + from, y - along, x + to, y + along)
                            : stage.area(x - along, y + from, x + along, y + to);
    canvas.rect(box, theme.metal_edge);
  }
}

}  // namespace glassbowl::viz
