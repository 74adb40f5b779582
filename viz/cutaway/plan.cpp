#include "viz/cutaway/plan.hpp"

#include <algorithm>
#include <cmath>

namespace glassbowl::viz {
namespace {

constexpr double mm = 1e-3;
constexpr double pi = 3.14159265358979323846;
constexpr double needle_room = 1.5 * mm;        // below the tip of a needle that is down
constexpr double nozzle_stands_out = 1.5 * mm;  // of a fixed venturi's floor

}  // namespace

CarburetorPlan::CarburetorPlan(const sim::DrawingDimensions& g) : g_(g) {
  floor = g.vacuum_piston ? g.nozzle_lip : g.nozzle_lip - nozzle_stands_out - 0.5 * (g.bore - g.venturi);
  axis = floor + 0.5 * g.bore;
  roof = floor + g.bore;
  horn = -g.bore_length;
  choke_x = 0.87 * horn;
  throat_x = 0.5 * horn;
  outlet = std::max(1.05 * g.bore, 30 * mm);
  throat_half = g.vacuum_piston ? 0.5 * g.slide_diameter : 0.26 * g.bore_length;

  const double bowl_width = std::sqrt(g.bowl_area);
  bowl_right = horn - 16 * mm;
  bowl_left = bowl_right - bowl_width;
  bowl_floor = -g.bowl_depth;
  bowl_top = g.bowl_rim + 5 * mm;

  foot = g.well_foot;
  needle_foot = foot;
  if (g.vacuum_piston && !g.needle.x.empty())
    needle_foot = std::min(foot, floor - g.needle.x.back() + std::min(0.0, g.needle_raised) - needle_room);
  riser_left = throat_x - 0.5 * g.riser_diameter;
  riser_right = throat_x + 0.5 * g.riser_diameter;
  well_right = riser_left - 0.8 * mm;
  well_left = well_right - g.well_diameter;
  well_top = std::min(g.nozzle_lip - 3 * mm, floor - 2.5 * mm);
  gallery = foot + 2 * mm;
  gallery_half = std::max(1.4 * mm, 0.5 * g.main_jet.bore + 0.5 * mm);

  slow_x = riser_right + 9 * mm;
  slow_half = 0.5 * g.slow.passage_diameter;
  slow_channel = floor - 4 * mm;
  main_air_x = 0.74 * horn;
  slow_air_x = 0.93 * horn;
  idle_x = 0.30 * g.bore;

  pump_left = slow_x + 5 * mm;
  pump_right = pump_left + g.pump_diameter;
  pump_roof = slow_channel - 4 * mm;
  pump_nozzle_x = throat_x + 13 * mm;
  enrichment_x = 0.62 * g.bore;

  diaphragm_rest = roof + 7 * mm;
  const double diaphragm_area = 0.25 * pi * g.diaphragm_diameter * g.diaphragm_diameter;
  // At full lift the chamber above the diaphragm has its volume left.
  chamber_roof = diaphragm_rest + g.piston_travel + g.chamber_volume / diaphragm_area;

  left = bowl_left - 4 * mm;
  right = outlet + 2 * mm;
  bottom = std::min({bowl_floor - 3 * mm, foot - 12 * mm, needle_foot - 3 * mm});
  top = g.vacuum_piston ? chamber_roof + 4 * mm : std::max(roof, axis + 0.5 * g.choke_bore) + 5 * mm;
}

double CarburetorPlan::lower_wall(double x) const {
  double wall = floor;
  if (!g_.vacuum_piston) {
    const double u = std::abs(x - throat_x) / throat_half;
    if (u < 1.0) wall += 0.5 * (g_.bore - g_.venturi) * 0.5 * (1.0 + std::cos(pi * u));
  }
  if (g_.choke_fitted && x < choke_x + 8 * mm) {
    const double u = std::clamp((choke_x + 8 * mm - x) / (8 * mm), 0.0, 1.0);
    wall -= 0.5 * (g_.choke_bore - g_.bore) * 0.5 * (1.0 - std::cos(pi * u));
  }
  if (x < horn) wall -= 0.5 * (horn - x);
  return wall;
}

double CarburetorPlan::upper_wall(double x, double lift) const {
  double wall = 2.0 * axis - lower_wall(x);
  if (g_.vacuum_piston && std::abs(x - throat_x) < throat_half)
    wall = std::min(wall, floor + g_.piston_rest_gap + std::max(0.0, lift));
  return wall;
}

EnginePlan::EnginePlan(const sim::DrawingDimensions& g) {
  const double gap = 14 * mm, bore = g.cylinder_bore;
  const std::size_t n = std::max<std::size_t>(1, g.firing.size());
  head = 0.0;
  clearance = g.stroke / std::max(0.1, g.compression_ratio - 1.0);
  skirt = 0.36 * bore;
  pin = 0.6 * skirt;
  crank_drop = clearance + pin + g.rod + 0.5 * g.stroke;
  liner = clearance + g.stroke + skirt;
  intake_shift = 0.25 * bore;
  exhaust_shift = 0.26 * bore;

  // Two cylinders whose strokes are apart by a turn and some degrees stand in a V of that angle on one pin.
  const double apart = n == 2 ? std::remainder(g.firing[1] - g.firing[0], 2.0 * pi) : 0.0;
  vee = apart > 0.3 && apart < 1.8;
  const double lean = vee ? 0.5 * apart : 0.0;
  tilt.assign(n, 0.0);
  side.assign(n, -1.0);
  if (vee) {
    const double half = std::max(crank_drop * std::sin(lean) - intake_shift * std::cos(lean),
                                 0.5 * g.runner_diameter + 6 * mm);
    const double outer = 0.78 * bore + 12 * mm;
    intake_x = {outer, outer + 2.0 * half};
    tilt = {lean, -lean};
    side = {1.0, -1.0};  // intake ports within the V
    liner = std::min(liner, crank_drop - (0.5 * bore + 3 * mm) / std::tan(lean));
  } else {
    for (std::size_t k = 0; k < n; ++k)
      intake_x.push_back(0.25 * bore + static_cast<double>(k) * (bore + gap));
  }
  for (std::size_t k = 0; k < n; ++k) cylinder_x.push_back(intake_x[k] - side[k] * intake_shift);

  runner_top = g.runner_length;
  runner_half = 0.5 * g.runner_diameter;
  plenum_bottom = runner_top;
  plenum_right = intake_x.back() + 0.5 * g.runner_diameter;
  plenum_top = plenum_bottom + std::max(8 * mm, g.manifold_volume / (plenum_right * g.bore));
  crank_web = 0.5 * g.stroke + 9 * mm;
  left = -6 * mm;
  right = cylinder_x.back() + 0.5 * bore + 8 * mm;
  bottom = -crank_drop * std::cos(lean) - crank_web - 8 * mm;
  if (vee) {
    left = -8 * mm;
    right = intake_x.back() + 0.78 * bore + 24 * mm;
    bottom -= intake_shift * std::sin(lean);
  }
  top = plenum_top + 4 * mm;
}

}  // namespace glassbowl::viz
