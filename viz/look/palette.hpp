#pragma once
#include <SFML/Graphics/Color.hpp>
#include <cstddef>

/// Colours. Categories use the colour-blind-safe palette of Okabe & Ito (2008); pressure uses cividis
/// (Nuñez, Anderton & Renslow 2018). Every category also has a pattern, so colour never stands alone.
namespace glassbowl::viz {

/// What is told apart by colour and pattern.
enum class Hue { air, idle, transfer, main, pump, enrichment, fuel, film, count };

/// How an area or a line of that category is hatched.
enum class Pattern { solid, rising, falling, dots, level, upright, cross, count };

struct Theme {
  bool dark = true;
  sf::Color background, panel, edge, metal, metal_edge, text, faint, grid, cursor, accent, warning;
};

const Theme& dark_theme();
const Theme& light_theme();

sf::Color color_of(Hue hue, const Theme& theme);
Pattern pattern_of(Hue hue);
const char* name_of(Hue hue);

sf::Color faded(sf::Color color, float opacity);
sf::Color mixed(sf::Color a, sf::Color b, float share_of_b);

/// Colour of a pressure [Pa] against the air outside: dark blue far below, grey at it, yellow far above.
/// The scale is linear within 1 kPa and logarithmic beyond, so that weak pulses show beside strong ones.
/// On a light ground the colours are paler.
sf::Color pressure_color(double pressure, double ambient, const Theme& theme);

/// Place of a pressure on that scale, 0 .. 1 with 0.5 at ambient.
double pressure_place(double pressure, double ambient);

/// Line colours for curves that have no category, in a fixed order.
sf::Color series_color(std::size_t index, const Theme& theme);

}  // namespace glassbowl::viz
