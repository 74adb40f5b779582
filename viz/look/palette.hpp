#pragma once
#include <SFML/Graphics/Color.hpp>
#include <cstddef>

/// Colours, each with one meaning. Circuits use the colour-blind-safe palette of Okabe & Ito (2008), pressure
/// a scale of its own; what is no circuit is neutral. Every circuit also has a pattern and every cylinder a
/// dash, so that colour never stands alone.
namespace glassbowl::viz {

/// Categories with a colour and a pattern each.
enum class Hue { air, idle, transfer, main, pump, enrichment, fuel, film, count };

/// How an area or a line of that category is hatched.
enum class Pattern { solid, rising, falling, dots, level, upright, cross, count };

struct Theme {
  bool dark = true;
  bool print = false;  ///< black on white: patterns alone tell circuits apart
  sf::Color background, panel, edge, metal, metal_edge, text, faint, grid, cursor;
  sf::Color accent;  ///< of what is selected or held
  sf::Color danger;  ///< of warnings, and of nothing else
  sf::Color second;  ///< of the second of two runs
  sf::Color flame;   ///< of burning gas
};

const Theme& dark_theme();
const Theme& light_theme();
const Theme& print_theme();

sf::Color color_of(Hue hue, const Theme& theme);
/// What lies below the pattern of a category.
sf::Color ground_of(Hue hue, const Theme& theme);
Pattern pattern_of(Hue hue);
const char* name_of(Hue hue);

sf::Color faded(sf::Color color, float opacity);
sf::Color mixed(sf::Color a, sf::Color b, float share_of_b);

/// Colour of a pressure [Pa] against the air outside: indigo far below, grey at it, pale far above.
/// The scale is linear within 1 kPa and logarithmic beyond, so that weak pulses show beside strong ones.
/// On a light ground the colours are paler.
sf::Color pressure_color(double pressure, double ambient, const Theme& theme);

/// Place of a pressure on that scale, 0 .. 1 with 0.5 at ambient.
double pressure_place(double pressure, double ambient);

/// Lines of several cylinders differ by their dash.
enum class Dash { solid, long_dashes, dots, dash_dot };
Dash dash_of(std::size_t cylinder);
/// Whether a dashed line has ink at this length along it [px at scale 1].
bool inked(Dash dash, float along);

/// Contrast ratio of two opaque colours, 1 .. 21 (Web Content Accessibility Guidelines 2.1).
double contrast(sf::Color a, sf::Color b);

}  // namespace glassbowl::viz
