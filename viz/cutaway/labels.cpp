#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>

#include "viz/cutaway/cutaway.hpp"

namespace glassbowl::viz {
namespace {

constexpr float points = 10.5F;

struct Wish {
  std::string text;
  double x, y;        // [m] what it names
  double to_x, to_y;  // [m] where it would stand best
};

std::string mm(double metres) {
  return fmt::format("{:.2f}", metres * 1e3);
}

std::vector<Wish> wishes(const sim::DrawingDimensions& g, const CarburetorPlan& p) {
  std::vector<Wish> out;
  const double low = p.bottom + 1e-3, mid_gap = 7e-3;
  out.push_back({"bowl", 0.5 * (p.bowl_left + p.bowl_right), p.bowl_floor + 4e-3, p.bowl_left + 6e-3,
                 p.bowl_floor + 4e-3});
  out.push_back({"main jet " + mm(g.main_jet.bore), p.well_left - 5e-3, p.gallery - p.gallery_half,
                 p.well_left - 14e-3, p.gallery - mid_gap});
  out.push_back({"well", p.well_left, p.foot + 9e-3, p.well_left - 9e-3, p.foot + 9e-3});
  out.push_back({"riser", p.riser_right, p.foot + 12e-3, p.riser_right + 4e-3, p.foot + 12e-3});
  out.push_back({"main air jet " + mm(g.main_air_jet.bore), p.main_air_x + 6e-3, p.well_top - 0.5e-3,
                 p.main_air_x - 8e-3, p.well_top - 7e-3});
  out.push_back({"slow air jet " + mm(g.slow.air_jet.bore), p.slow_air_x + 6e-3, p.slow_channel - 1e-3,
                 p.slow_air_x - 6e-3, p.slow_channel - 14e-3});
  const double feed = g.slow_from_well ? p.foot + 1e-3 : p.foot - 5e-3;
  out.push_back({"slow jet " + mm(g.slow.jet.bore), p.slow_x, feed + 3e-3, p.slow_x - 3e-3, feed - 6e-3});
  out.push_back({"idle outlet", p.idle_x, p.floor, p.idle_x + 6e-3, p.floor - 9e-3});
  if (!g.ports.empty())
    out.push_back({"transfer ports", -g.ports.back().position, p.floor - 1e-3,
                   -g.ports.back().position - 16e-3, p.floor + 6e-3});
  if (g.vacuum_piston) {
    out.push_back({"vacuum piston", p.throat_x - p.throat_half, p.roof + 3e-3,
                   p.throat_x - p.throat_half - 22e-3, p.roof + 12e-3});
    out.push_back({"diaphragm " + fmt::format("{:.0f}", g.diaphragm_diameter * 1e3),
                   p.throat_x + 0.5 * g.diaphragm_diameter, p.diaphragm_rest + 0.35 * g.piston_travel,
                   p.throat_x + 0.5 * g.diaphragm_diameter + 5e-3, p.diaphragm_rest + 0.5 * g.piston_travel});
    out.push_back({"needle in jet " + mm(g.needle_jet), p.throat_x, p.floor + 1e-3, p.throat_x + 22e-3,
                   p.floor + 6e-3});
  } else {
    out.push_back({fmt::format("venturi {:.0f}", g.venturi * 1e3), p.throat_x, p.roof, p.throat_x - 4e-3,
                   p.roof + 4e-3});
    out.push_back({"nozzle", p.throat_x, g.nozzle_lip, p.throat_x - 14e-3, g.nozzle_lip + 7e-3});
  }
  out.push_back({fmt::format("throttle plate, bore {:.0f}", g.bore * 1e3), 0.0, p.roof, 2e-3, p.roof + 4e-3});
  if (g.choke_fitted) out.push_back({"choke plate", p.choke_x, p.axis, p.choke_x - 3e-3, p.roof + 5e-3});
  if (g.pump_fitted) {
    out.push_back({"pump", 0.5 * (p.pump_left + p.pump_right), p.pump_roof - 2e-3, p.pump_right + 3e-3,
                   p.pump_roof - 4e-3});
    out.push_back({"pump nozzle " + mm(g.pump_nozzle.bore), p.pump_nozzle_x, g.pump_nozzle_height,
                   p.pump_nozzle_x + 5e-3, g.pump_nozzle_height + 6e-3});
  }
  if (g.enrichment_fitted)
    out.push_back({"cold-start enrichment", p.enrichment_x, p.floor - 8e-3, p.enrichment_x - 4e-3, low});
  return out;
}

/// Where a leader meets its label.
Point foot(Point target, const Box& box) {
  return {std::clamp(target.x, box.x, box.right()), std::clamp(target.y, box.y, box.bottom())};
}

/// Whether the leader from a target to its label runs through another box.
bool crosses(Point target, const Box& own, const Box& other) {
  const Point end = foot(target, own);
  for (int i = 0; i <= 12; ++i)
    if (other.holds(target + (end - target) * (static_cast<float>(i) / 12.0F))) return true;
  return false;
}

/// Area that two boxes share [px2].
float shared(const Box& a, const Box& b) {
  const float w = std::min(a.right(), b.right()) - std::max(a.x, b.x);
  const float h = std::min(a.bottom(), b.bottom()) - std::max(a.y, b.y);
  return w > 0 && h > 0 ? w * h : 0.0F;
}

/// The best free place for one name; `strict`: no leader runs through another name.
std::optional<Box> find_place(const Scene& s, const std::vector<Label>& taken, Point target, Point wanted,
                              Point size, bool strict) {
  const float u = s.canvas.scale();
  const Box& field = s.stage.box;
  std::optional<Box> best;
  float least = 1e30F;
  for (int row = -6; row <= 6; ++row)
    for (int column = -6; column <= 6; ++column) {
      const Point shift(static_cast<float>(column) * 0.25F * size.x, static_cast<float>(row) * 0.6F * size.y);
      const Box box{wanted.x + shift.x, wanted.y - 0.5F * size.y + shift.y, size.x, size.y};
      if (box.x < field.x || box.right() > field.right() || box.y < field.y ||
          box.bottom() > field.bottom() - 16 * u)
        continue;
      if (box.inset(-3 * u).holds(target)) continue;  // never over what it names
      if (std::any_of(taken.begin(), taken.end(), [&](const Label& other) {
            return box.inset(-2 * u).meets(other.box) ||
                   (strict && (box.inset(-3 * u).holds(other.target) || crosses(target, box, other.box) ||
                               crosses(other.target, other.box, box)));
          }))
        continue;
      float cost = std::hypot(shift.x, shift.y);
      for (const Box& pipe : s.hits.occupied()) cost += 200 * u * shared(box, pipe) / (size.x * size.y);
      if (cost >= least) continue;
      least = cost;
      best = box;
    }
  return best;
}

}  // namespace

std::vector<Label> place_labels(const Scene& s, const CarburetorPlan& plan) {
  const float u = s.canvas.scale(), height = s.canvas.line_height(points);
  std::vector<Label> out;
  for (const auto& wish : wishes(s.geometry, plan)) {
    const Point target = s.stage.at(wish.x, wish.y), wanted = s.stage.at(wish.to_x, wish.to_y);
    if (!s.stage.box.holds(target)) continue;
    const Point size(s.canvas.text_width(wish.text, points) + 6 * u, height);
    auto box = find_place(s, out, target, wanted, size, true);
    if (!box) box = find_place(s, out, target, wanted, size, false);
    if (box) out.push_back({wish.text, target, *box});
  }
  return out;
}

void draw_labels(const Scene& s, const std::vector<Label>& labels) {
  auto& canvas = s.canvas;
  const float u = canvas.scale();
  for (const auto& label : labels) {
    canvas.line(foot(label.target, label.box), label.target, faded(s.theme.text, 0.55F), 1.0F);
    canvas.disc(label.target, 1.8F * u, s.theme.text);
  }
  for (const auto& label : labels) {
    canvas.rect(label.box, faded(s.theme.background, 0.82F));
    canvas.text({label.box.x + 3 * u, label.box.y}, label.text, points, s.theme.text);
  }
}

void draw_scale_bar(Canvas& canvas, const Stage& stage, const Theme& theme, Point at) {
  const float u = canvas.scale();
  double length = 1e-3;
  for (const double candidate : {2e-3, 5e-3, 10e-3, 20e-3, 50e-3})
    if (stage.length(candidate) < 90 * u) length = candidate;
  const float width = stage.length(length);
  canvas.rect({at.x, at.y, width, 2 * u}, theme.text);
  canvas.rect({at.x, at.y - 3 * u, 1.5F * u, 6 * u}, theme.text);
  canvas.rect({at.x + width, at.y - 3 * u, 1.5F * u, 6 * u}, theme.text);
  canvas.text({at.x + width + 6 * u, at.y - 8 * u}, fmt::format("{:.0f} mm", length * 1e3), 10.5F,
              theme.text);
}

}  // namespace glassbowl::viz
