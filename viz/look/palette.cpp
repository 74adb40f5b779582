#include "viz/look/palette.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace glassbowl::viz {
namespace {

// Okabe & Ito (2008), "Color Universal Design".
const sf::Color orange(230, 159, 0), sky_blue(86, 180, 233), bluish_green(0, 158, 115), yellow(240, 228, 66),
    blue(0, 114, 178), vermillion(213, 94, 0), reddish_purple(204, 121, 167);

// Nine stations of cividis.
constexpr std::array<std::array<int, 3>, 9> cividis{{{0, 34, 78},
                                                     {26, 56, 111},
                                                     {65, 77, 107},
                                                     {96, 99, 110},
                                                     {125, 124, 120},
                                                     {156, 148, 117},
                                                     {190, 175, 105},
                                                     {224, 202, 83},
                                                     {254, 232, 56}}};

constexpr float paler = 0.45F;        // share of the light ground in a pressure's colour
constexpr double linear_range = 1e3;  // [Pa]
constexpr double full_range = 90e3;   // [Pa]

}  // namespace

const Theme& dark_theme() {
  static const Theme theme{true,
                           sf::Color(20, 24, 29),
                           sf::Color(28, 33, 40),
                           sf::Color(58, 66, 77),
                           sf::Color(74, 84, 97),
                           sf::Color(142, 154, 168),
                           sf::Color(232, 236, 240),
                           sf::Color(158, 168, 180),
                           sf::Color(48, 55, 65),
                           sf::Color(255, 255, 255),
                           sky_blue,
                           vermillion};
  return theme;
}

const Theme& light_theme() {
  static const Theme theme{false,
                           sf::Color(247, 248, 249),
                           sf::Color(255, 255, 255),
                           sf::Color(198, 204, 211),
                           sf::Color(196, 203, 211),
                           sf::Color(96, 106, 118),
                           sf::Color(24, 29, 35),
                           sf::Color(88, 98, 110),
                           sf::Color(228, 231, 235),
                           sf::Color(0, 0, 0),
                           blue,
                           vermillion};
  return theme;
}

sf::Color color_of(Hue hue, const Theme& theme) {
  switch (hue) {
    case Hue::air:
      return theme.dark ? sf::Color(205, 214, 224) : sf::Color(70, 80, 92);
    case Hue::idle:
      return sky_blue;
    case Hue::transfer:
      return bluish_green;
    case Hue::main:
      return orange;
    case Hue::pump:
      return reddish_purple;
    case Hue::enrichment:
      return vermillion;
    case Hue::fuel:
      return theme.dark ? yellow : sf::Color(214, 200, 30);
    default:
      return blue;
  }
}

Pattern pattern_of(Hue hue) {
  switch (hue) {
    case Hue::idle:
      return Pattern::dots;
    case Hue::transfer:
      return Pattern::rising;
    case Hue::main:
      return Pattern::solid;
    case Hue::pump:
      return Pattern::falling;
    case Hue::enrichment:
      return Pattern::cross;
    case Hue::fuel:
      return Pattern::level;
    case Hue::film:
      return Pattern::upright;
    default:
      return Pattern::solid;
  }
}

const char* name_of(Hue hue) {
  constexpr std::array names{"air",  "idle outlet", "transfer ports", "main nozzle",
                             "pump", "enrichment",  "fuel at rest",   "wall film"};
  return names.at(static_cast<std::size_t>(hue));
}

sf::Color faded(sf::Color color, float opacity) {
  color.a = static_cast<sf::Uint8>(std::clamp(static_cast<float>(color.a) * opacity, 0.0F, 255.0F));
  return color;
}

sf::Color mixed(sf::Color a, sf::Color b, float share) {
  const auto one = [share](int from, int to) {
    return static_cast<sf::Uint8>(
        std::lround(static_cast<float>(from) + share * static_cast<float>(to - from)));
  };
  return {one(a.r, b.r), one(a.g, b.g), one(a.b, b.b), one(a.a, b.a)};
}

double pressure_place(double pressure, double ambient) {
  const double difference = pressure - ambient;
  if (!std::isfinite(difference)) return 0.5;
  const double place = std::asinh(difference / linear_range) / std::asinh(full_range / linear_range);
  return std::clamp(0.5 + 0.5 * place, 0.0, 1.0);
}

sf::Color pressure_color(double pressure, double ambient, const Theme& theme) {
  const double at = pressure_place(pressure, ambient) * static_cast<double>(cividis.size() - 1);
  const auto low = std::min(static_cast<std::size_t>(at), cividis.size() - 2);
  const auto share = static_cast<float>(at - static_cast<double>(low));
  const auto color = [](const std::array<int, 3>& c) {
    return sf::Color(static_cast<sf::Uint8>(c[0]), static_cast<sf::Uint8>(c[1]),
                     static_cast<sf::Uint8>(c[2]));
  };
  const sf::Color full = mixed(color(cividis[low]), color(cividis[low + 1]), share);
  return theme.dark ? full : mixed(full, theme.panel, paler);
}

sf::Color series_color(std::size_t index, const Theme& theme) {
  const std::array colors{theme.dark ? sky_blue : blue, orange, bluish_green, reddish_purple, vermillion};
  return colors[index % colors.size()];
}

}  // namespace glassbowl::viz
