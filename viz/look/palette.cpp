#include "viz/look/palette.hpp"

#include <algorithm>
#include <array>
#include <cmath>

namespace glassbowl::viz {
namespace {

// Okabe & Ito (2008), "Color Universal Design"; on a light ground darker, so that lines keep their contrast.
const sf::Color orange(230, 159, 0), sky_blue(86, 180, 233), bluish_green(0, 158, 115), yellow(240, 228, 66),
    blue(0, 114, 178), vermillion(213, 94, 0), reddish_purple(204, 121, 167);
const sf::Color dark_orange(176, 104, 0), dark_sky_blue(0, 122, 184), dark_green(0, 122, 88),
    dark_yellow(146, 138, 0), dark_blue(28, 62, 150), dark_vermillion(168, 44, 20), dark_purple(168, 76, 128);

// Nine stations from indigo over grey to pale lavender: lightness rises evenly, and no circuit has these
// hues.
constexpr std::array<std::array<int, 3>, 9> pressures{{{16, 12, 70},
                                                       {36, 32, 98},
                                                       {62, 60, 112},
                                                       {88, 88, 118},
                                                       {114, 114, 122},
                                                       {146, 144, 160},
                                                       {178, 174, 200},
                                                       {210, 204, 236},
                                                       {240, 234, 255}}};

constexpr float paler = 0.45F;        // share of the light ground in a pressure's colour
constexpr double linear_range = 1e3;  // [Pa]
constexpr double full_range = 90e3;   // [Pa]

}  // namespace

const Theme& dark_theme() {
  static const Theme theme{true,
                           false,
                           sf::Color(20, 24, 29),
                           sf::Color(28, 33, 40),
                           sf::Color(58, 66, 77),
                           sf::Color(74, 84, 97),
                           sf::Color(142, 154, 168),
                           sf::Color(232, 236, 240),
                           sf::Color(158, 168, 180),
                           sf::Color(48, 55, 65),
                           sf::Color(255, 255, 255),
                           sf::Color(206, 214, 224),
                           sf::Color(255, 96, 96),
                           sf::Color(176, 150, 255),
                           sf::Color(255, 250, 226)};
  return theme;
}

const Theme& light_theme() {
  static const Theme theme{false,
                           false,
                           sf::Color(247, 248, 249),
                           sf::Color(255, 255, 255),
                           sf::Color(198, 204, 211),
                           sf::Color(196, 203, 211),
                           sf::Color(96, 106, 118),
                           sf::Color(24, 29, 35),
                           sf::Color(88, 98, 110),
                           sf::Color(228, 231, 235),
                           sf::Color(0, 0, 0),
                           sf::Color(62, 72, 86),
                           sf::Color(190, 16, 32),
                           sf::Color(104, 62, 200),
                           sf::Color(255, 244, 196)};
  return theme;
}

const Theme& print_theme() {
  static const Theme theme = [] {
    Theme t = light_theme();
    t.print = true;
    t.background = t.panel = sf::Color::White;
    t.metal = sf::Color(214, 214, 214);
    t.metal_edge = sf::Color(70, 70, 70);
    t.grid = sf::Color(222, 222, 222);
    t.edge = sf::Color(150, 150, 150);
    t.faint = sf::Color(80, 80, 80);
    t.text = t.cursor = t.accent = sf::Color::Black;
    t.danger = sf::Color(40, 40, 40);
    t.second = sf::Color(105, 105, 105);
    return t;
  }();
  return theme;
}

sf::Color ground_of(Hue hue, const Theme& theme) {
  if (theme.print) return hue == Hue::main ? sf::Color(120, 120, 120) : sf::Color(240, 240, 240);
  return faded(color_of(hue, theme), hue == Hue::main ? 0.85F : 0.62F);
}

sf::Color color_of(Hue hue, const Theme& theme) {
  if (theme.print) return hue == Hue::main ? sf::Color(120, 120, 120) : sf::Color(30, 30, 30);
  switch (hue) {
    case Hue::air:
      return theme.dark ? sf::Color(205, 214, 224) : sf::Color(70, 80, 92);
    case Hue::idle:
      return theme.dark ? sky_blue : dark_sky_blue;
    case Hue::transfer:
      return theme.dark ? bluish_green : dark_green;
    case Hue::main:
      return theme.dark ? orange : dark_orange;
    case Hue::pump:
      return theme.dark ? reddish_purple : dark_purple;
    case Hue::enrichment:
      return theme.dark ? vermillion : dark_vermillion;
    case Hue::fuel:
      return theme.dark ? yellow : dark_yellow;
    default:
      return theme.dark ? blue : dark_blue;
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
  const double at = pressure_place(pressure, ambient) * static_cast<double>(pressures.size() - 1);
  const auto low = std::min(static_cast<std::size_t>(at), pressures.size() - 2);
  const auto share = static_cast<float>(at - static_cast<double>(low));
  const auto color = [](const std::array<int, 3>& c) {
    return sf::Color(static_cast<sf::Uint8>(c[0]), static_cast<sf::Uint8>(c[1]),
                     static_cast<sf::Uint8>(c[2]));
  };
  const sf::Color full = mixed(color(pressures[low]), color(pressures[low + 1]), share);
  if (theme.print) {
    const auto grey = static_cast<sf::Uint8>(130 + 125 * pressure_place(pressure, ambient));
    return {grey, grey, grey};
  }
  return theme.dark ? full : mixed(full, theme.panel, paler);
}

namespace {

/// [-] of a colour, as the Web Content Accessibility Guidelines 2.1 define it.
double relative_luminance(sf::Color c) {
  const auto part = [](sf::Uint8 v) {
    const double x = v / 255.0;
    return x <= 0.03928 ? x / 12.92 : std::pow((x + 0.055) / 1.055, 2.4);
  };
  return 0.2126 * part(c.r) + 0.7152 * part(c.g) + 0.0722 * part(c.b);
}

}  // namespace

double contrast(sf::Color a, sf::Color b) {
  const double la = relative_luminance(a), lb = relative_luminance(b);
  return (std::max(la, lb) + 0.05) / (std::min(la, lb) + 0.05);
}

Dash dash_of(std::size_t cylinder) {
  constexpr std::array dashes{Dash::solid, Dash::long_dashes, Dash::dots, Dash::dash_dot};
  return dashes[cylinder % dashes.size()];
}

bool inked(Dash dash, float along) {
  const float at = std::fmod(along, 16.0F);
  switch (dash) {
    case Dash::long_dashes:
      return at < 10.0F;
    case Dash::dots:
      return std::fmod(at, 5.33F) < 2.4F;
    case Dash::dash_dot:
      return at < 8.0F || (at > 11.0F && at < 13.0F);
    default:
      return true;
  }
}

}  // namespace glassbowl::viz
