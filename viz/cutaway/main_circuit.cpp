#include <algorithm>
#include <array>
#include <cmath>

#include "viz/cutaway/drawings.hpp"

namespace glassbowl::viz {
namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double wall = 0.8e-3;

void draw_holes(const Scene& s, const CarburetorPlan& plan, double level) {
  for (const auto& row : s.geometry.holes) {
    const double half = 0.5 * row.diameter;
    const bool bare = row.height > level;
    s.canvas.rect(s.stage.area(plan.well_right, row.height - half, plan.riser_left, row.height + half),
                  bare ? s.theme.background : color_of(Hue::main, s.theme));
  }
}

/// Bubbles in the riser above the well's level: as much of it as holds no fuel, rising at the speed
/// of the drift-flux law.
void draw_bubbles(const Scene& s, const CarburetorPlan& plan, double level, double gas) {
  const double share = gas;
  const double length = plan.floor + (s.geometry.nozzle_lip - plan.floor) - std::max(level, plan.foot);
  if (share < 0.005 || length <= 0.0) return;
  const double radius = 0.16 * s.geometry.riser_diameter;
  const double section = s.geometry.riser_diameter * length;
  const int count = static_cast<int>(std::lround(share * section / (pi * radius * radius)));
  const double moved = s.marks.distance(Stream::bubbles);
  for (int i = 0; i < std::min(count, 220); ++i) {
    const double place = std::fmod(0.6180339887 * i + moved / length, 1.0);
    const double across = std::fmod(0.7548776662 * i, 1.0) - 0.5;
    const Point at = s.stage.at(plan.throat_x + across * (s.geometry.riser_diameter - 2 * radius),
                                std::max(level, plan.foot) + (place < 0 ? place + 1 : place) * length);
    s.canvas.dot(at, std::max(1.0F, s.stage.length(radius)), faded(s.theme.background, 0.85F));
  }
}

/// The riser's bore goes on downward where a needle hangs into it, in a boss before the other passages.
void draw_needle_bore(const Scene& s, const CarburetorPlan& plan) {
  if (plan.needle_foot >= plan.foot) return;
  constexpr double boss = 1.6e-3;
  s.metal(plan.riser_left - boss, plan.needle_foot - boss, plan.riser_right + boss, plan.foot - 0.5e-3);
  s.passage(plan.riser_left, plan.needle_foot, plan.riser_right, plan.foot);
  s.fuel(plan.riser_left, plan.needle_foot, plan.riser_right, plan.foot, Hue::main);
}

}  // namespace

void draw_main_circuit(const Scene& s, const CarburetorPlan& plan) {
  const auto& g = s.geometry;
  const double level = s.value(s.signals.well_level, g.bowl_set_level);
  const double lip = g.nozzle_lip;

  // Gallery from the bowl to the well's foot, main jet in it.
  s.passage(plan.bowl_right, plan.gallery - plan.gallery_half, plan.well_left,
            plan.gallery + plan.gallery_half);
  s.fuel(plan.bowl_right - 2e-3, plan.gallery - plan.gallery_half, plan.well_left,
         plan.gallery + plan.gallery_half, Hue::main);
  const double jet_x = plan.well_left - 5e-3;
  s.jet(jet_x, plan.gallery, plan.gallery_half, g.main_jet, false);

  // Main air passage from the inlet to the well's head.
  const double air_half = std::max(0.9e-3, 0.5 * g.main_air_jet.bore);
  const double air_y = plan.well_top + air_half + 0.6e-3;
  const double mouth = plan.lower_wall(plan.main_air_x);
  s.passage(plan.main_air_x - air_half, air_y - air_half, plan.main_air_x + air_half, mouth);
  s.passage(plan.main_air_x - air_half, air_y - air_half, plan.well_right, air_y + air_half);
  const sf::Color air_pressure = s.pressure(s.signals.inlet_pressure);
  s.canvas.rect(
      s.stage.area(plan.main_air_x - air_half, air_y - air_half, plan.main_air_x + air_half, mouth + 5e-4),
      air_pressure);
  s.canvas.rect(s.stage.area(plan.main_air_x - air_half, air_y - air_half, plan.well_right, air_y + air_half),
                air_pressure);

  // Well and riser share their foot.
  s.passage(plan.well_left, plan.foot, plan.well_right, air_y + air_half);
  draw_needle_bore(s, plan);
  s.passage(plan.riser_left, plan.foot, plan.riser_right, lip);
  s.canvas.rect(s.stage.area(plan.well_right, plan.foot + 2.5e-3, plan.riser_left, plan.well_top),
                s.theme.metal_edge);
  s.passage(plan.well_left, plan.foot - 0.5e-3, plan.riser_right, plan.foot + 2.5e-3);
  s.canvas.rect(s.stage.area(plan.well_left, level, plan.well_right, air_y + air_half),
                s.pressure(s.signals.inlet_pressure));
  s.fuel(plan.well_left, plan.foot - 0.5e-3, plan.well_right, std::max(level, plan.foot), Hue::main);
  s.canvas.line(s.stage.at(plan.well_left, level), s.stage.at(plan.well_right, level), s.theme.text, 1.4F);
  draw_holes(s, plan, level);

  // The riser holds what its state says: with all holes covered it is a column up to there, with bleed air it
  // is liquid and bubbles up to the lip.
  const double section = 0.25 * pi * g.riser_diameter * g.riser_diameter;
  const double height = lip - plan.foot;
  const double held = std::clamp(
      s.value(s.signals.riser_fuel) / std::max(1e-12, g.fuel_density * section * height), 0.0, 1.0);
  const bool bled = s.value(s.signals.uncovered) > 1e-9;
  const double top = bled ? height : held * height;
  s.fuel(plan.well_right, plan.foot - 0.5e-3, plan.riser_left, plan.foot + 2.5e-3, Hue::main);
  s.fuel(plan.riser_left, plan.foot - 0.5e-3, plan.riser_right, plan.foot + top, Hue::main);
  if (bled) draw_bubbles(s, plan, level, 1.0 - held);

  const double px = s.stage.pixels_per_m;
  const auto marks = [&](Stream stream, std::span<const Point> path, sf::Color color) {
    const double speed = s.marks.speed(stream);
    if (std::abs(speed) > 1e-6)
      draw_marks(s.canvas, path, s.marks.distance(stream) * px, speed * s.marks.step() * px, color, 1.6F);
  };
  const sf::Color dark = s.theme.dark ? s.theme.background : s.theme.text;
  marks(Stream::main_jet,
        std::array{s.stage.at(plan.bowl_right, plan.gallery), s.stage.at(plan.well_left, plan.gallery)},
        dark);
  marks(Stream::riser,
        std::array{s.stage.at(plan.throat_x, plan.foot + 1e-3), s.stage.at(plan.throat_x, plan.foot + top)},
        dark);
  marks(Stream::main_air,
        std::array{s.stage.at(plan.main_air_x, mouth), s.stage.at(plan.main_air_x, air_y),
                   s.stage.at(plan.well_right, air_y)},
        s.theme.text);
  s.jet(plan.main_air_x + 6e-3, air_y, air_half + 0.3e-3, g.main_air_jet, false);

  s.hits.add(Part::main_jet, s.stage.area(jet_x - 3e-3, plan.gallery - plan.gallery_half, jet_x + 3e-3,
                                          plan.gallery + plan.gallery_half));
  s.hits.add(Part::main_air_jet, s.stage.area(plan.main_air_x + 4e-3, air_y - air_half,
                                              plan.main_air_x + 8e-3, air_y + air_half));
  s.hits.add(Part::well, s.stage.area(plan.well_left, plan.foot, plan.well_right, air_y));
  s.hits.add(Part::riser, s.stage.area(plan.riser_left, plan.foot, plan.riser_right, plan.floor));
  s.hits.add(Part::nozzle, s.stage.area(plan.riser_left, plan.floor - 1e-3, plan.riser_right, lip + 2e-3));
}

}  // namespace glassbowl::viz
