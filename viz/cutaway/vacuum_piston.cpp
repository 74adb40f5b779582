#include <algorithm>
#include <array>
#include <cmath>

#include "viz/cutaway/drawings.hpp"

namespace glassbowl::viz {
namespace {

constexpr double wall = 1.6e-3;

void draw_needle(const Scene& s, const CarburetorPlan& plan, double lift) {
  const auto& g = s.geometry;
  // Stations are counted from the jet's mouth with the piston down, so the mouth sees station lift + raised.
  const double end = g.needle.x.empty() ? 0.0 : g.needle.x.back();
  const double shift = lift + g.needle_raised;
  const double slide_bottom = plan.floor + g.piston_rest_gap + lift;
  double station = shift - (slide_bottom - plan.floor);
  const auto height = [&](double where) { return plan.floor - where + shift; };
  while (station < end) {
    const double next = std::min(end, station + 1e-3);
    const double a = 0.5 * g.needle.at(station), b = 0.5 * g.needle.at(next);
    s.canvas.quad(s.stage.at(plan.throat_x - a, height(station)),
                  s.stage.at(plan.throat_x + a, height(station)), s.stage.at(plan.throat_x + b, height(next)),
                  s.stage.at(plan.throat_x - b, height(next)), s.theme.text);
    station = next;
  }
  s.hits.add(Part::needle, s.stage.area(plan.throat_x - 0.5 * g.needle_jet, height(end),
                                        plan.throat_x + 0.5 * g.needle_jet, slide_bottom));
}

}  // namespace

void draw_vacuum_piston(const Scene& s, const CarburetorPlan& plan) {
  const auto& g = s.geometry;
  if (!g.vacuum_piston) return;
  const double lift = std::max(0.0, s.value(s.signals.piston_lift));
  const double half = 0.5 * g.slide_diameter, wide = 0.5 * g.diaphragm_diameter;
  const double bottom = plan.floor + g.piston_rest_gap + lift, diaphragm = plan.diaphragm_rest + lift;
  const double left = plan.throat_x - wide, right = plan.throat_x + wide;

  // Cover with its chamber; below the diaphragm there is the inlet's pressure.
  s.metal(left - 2 * wall, plan.roof, right + 2 * wall, plan.chamber_roof + 2 * wall);
  s.canvas.rect(s.stage.area(left, plan.roof + wall, right, diaphragm), s.pressure(s.signals.inlet_pressure));
  s.canvas.rect(s.stage.area(left, diaphragm, right, plan.chamber_roof),
                s.pressure(s.signals.chamber_pressure));
  s.canvas.rect(s.stage.area(plan.throat_x - half, plan.roof, plan.throat_x + half, plan.roof + 2 * wall),
                s.pressure(s.signals.inlet_pressure));

  // Slide: a cup whose floor carries the holes and the needle; inside it is the chamber.
  const Box slide = s.stage.area(plan.throat_x - half, bottom, plan.throat_x + half, diaphragm);
  s.canvas.rect(slide, s.theme.metal);
  s.canvas.frame(slide, s.theme.metal_edge, 1.4F);
  s.canvas.rect(s.stage.area(plan.throat_x - half + wall, bottom + 2 * wall, plan.throat_x + half - wall,
                             plan.chamber_roof - 1e-9 > diaphragm ? diaphragm : diaphragm - wall),
                s.pressure(s.signals.chamber_pressure));
  const int vents = static_cast<int>(std::lround(g.vent_count));
  for (int i = 0; i < vents; ++i) {
    const double x = plan.throat_x + half * (0.45 * (2.0 * i + 1.0 - vents) + 0.0);
    s.canvas.rect(
        s.stage.area(x - 0.5 * g.vent_diameter, bottom, x + 0.5 * g.vent_diameter, bottom + 2 * wall),
        s.pressure(s.signals.throat_pressure));
  }

  // Diaphragm, from the slide's rim to the cover.
  const Point rim_left = s.stage.at(plan.throat_x - half, diaphragm),
              rim_right = s.stage.at(plan.throat_x + half, diaphragm);
  const double seat = plan.diaphragm_rest + 0.35 * g.piston_travel;
  const std::array<Point, 3> skin_left{
      s.stage.at(left, seat),
      s.stage.at(0.5 * (left + plan.throat_x - half),
                 std::max(seat, diaphragm) - 0.2 * std::abs(seat - diaphragm)),
      rim_left};
  const std::array<Point, 3> skin_right{
      s.stage.at(right, seat),
      s.stage.at(0.5 * (right + plan.throat_x + half),
                 std::max(seat, diaphragm) - 0.2 * std::abs(seat - diaphragm)),
      rim_right};
  s.canvas.polyline(skin_left, s.theme.text, 1.6F);
  s.canvas.polyline(skin_right, s.theme.text, 1.6F);

  // Return spring between the cup and the cover.
  constexpr int turns = 7;
  std::array<Point, 2 * turns + 1> spring;
  for (int i = 0; i <= 2 * turns; ++i) {
    const double y = bottom + 2 * wall + (plan.chamber_roof - bottom - 2 * wall) * i / (2.0 * turns);
    spring[static_cast<std::size_t>(i)] = s.stage.at(plan.throat_x + (i % 2 == 0 ? -5e-3 : 5e-3), y);
  }
  s.canvas.polyline(spring, s.theme.faint, 1.0F);

  draw_needle(s, plan, lift);
  s.hits.add(Part::piston_chamber, s.stage.area(left, diaphragm, right, plan.chamber_roof));
  s.hits.add(Part::vacuum_piston,
             s.stage.area(plan.throat_x - half, bottom, plan.throat_x + half, diaphragm));
}

}  // namespace glassbowl::viz
