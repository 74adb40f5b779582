#include "viz/cutaway/cutaway.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

namespace glassbowl::viz {
namespace {

constexpr std::size_t air_marks = 520;
constexpr double longest_step = 0.05;  // [s] beyond which time has jumped
constexpr double standard_pressure = 101325.0;

}  // namespace

Cutaway::Cutaway(Source& source, const Signals& signals)
    : source_(source),
      signals_(signals),
      plan_(source.geometry()),
      engine_plan_(source.geometry()),
      particles_(plan_, engine_plan_, air_marks) {}

double Cutaway::ambient(const Instant& now) const {
  const double p = now[signals_.ambient_pressure];
  return std::isfinite(p) ? p : standard_pressure;
}

void Cutaway::advance(double time) {
  if (source_.empty()) return;
  if (source_.geometry_changes() != changes_) {
    changes_ = source_.geometry_changes();
    plan_ = CarburetorPlan(source_.geometry());
    engine_plan_ = EnginePlan(source_.geometry());
  }
  const double step = last_time_ ? time - *last_time_ : -1.0;
  const Instant now(source_, time);
  if (step < 0.0 || step > longest_step) {
    particles_.settle(signals_, source_, time);
    marks_.advance(signals_, now, 0.0);
  } else {
    particles_.advance(signals_, now, step);
    marks_.advance(signals_, now, step);
  }
  last_time_ = time;
}

/// One body that all passages are drilled in.
void draw_casting(const Scene& s, const CarburetorPlan& plan) {
  const auto& g = s.geometry;
  const double edge = 3e-3, roof = plan.floor;
  const double right = std::max({g.enrichment_fitted ? plan.enrichment_x + 11e-3 : 0.0, plan.idle_x + 5e-3,
                                 g.pump_fitted ? plan.pump_right + 3e-3 : 0.0});
  const double low = std::min({plan.foot - edge, plan.needle_foot - edge,
                               g.pump_fitted || g.enrichment_fitted ? plan.foot - 9e-3 - edge : 0.0,
                               g.slow_from_well ? 0.0 : plan.foot - 5e-3 - edge});
  const sf::Color ground = mixed(s.theme.background, s.theme.metal, 0.38F);
  const double from = plan.bowl_right;
  const Box block = s.stage.area(from, low, right, roof);
  s.canvas.rect(block, ground);
  // Hatched by single lines: a pattern over so much room is dear without a graphics card.
  const float apart = 9 * s.canvas.scale();
  for (float c = apart; c < block.w + block.h; c += apart) {
    const Point from_left(block.x + std::max(0.0F, c - block.h), block.y + std::min(c, block.h));
    const Point to_top(block.x + std::min(c, block.w), block.y + std::max(0.0F, c - block.w));
    s.canvas.line(from_left, to_top, mixed(ground, s.theme.metal, 0.35F), 0.8F);
  }
  s.canvas.frame(block, s.theme.metal, 1.0F);
}

void Cutaway::draw_carburetor(const Scene& scene) {
  draw_bowl(scene, plan_);
  draw_casting(scene, plan_);
  draw_bore(scene, plan_);
  draw_slow_circuit(scene, plan_);
  draw_accelerator_pump(scene, plan_);
  draw_enrichment(scene, plan_);
  draw_main_circuit(scene, plan_);
  draw_choke_plate(scene, plan_);
  draw_vacuum_piston(scene, plan_);
  draw_throttle_plate(scene, plan_);
}

void Cutaway::draw_loupe(Canvas& canvas, const Box& box, const Theme& theme, const Instant& now) {
  const double upstream =
      source_.geometry().ports.empty() ? 8e-3 : source_.geometry().ports.back().position + 3e-3;
  const double left = -upstream, right = 3e-3, low = plan_.floor - 1.8e-3;
  const Stage stage =
      fit_stage(box, left, low, right, low + (right - left) * static_cast<double>(box.h / box.w));
  canvas.next_layer();
  canvas.rect(box.inset(-2 * canvas.scale()), theme.edge);
  canvas.clip(box);
  canvas.rect(box, theme.background);
  loupe_hits_.clear();
  const Scene scene{canvas, theme,  source_.geometry(), signals_,    now,
                    stage,  marks_, loupe_hits_,        ambient(now)};
  draw_bore(scene, plan_);
  draw_slow_circuit(scene, plan_);
  draw_enrichment(scene, plan_);
  draw_throttle_plate(scene, plan_);
  particles_.draw_bore(canvas, stage, theme);
  canvas.unclip();
  const double times = stage.pixels_per_m / carburetor_stage_.pixels_per_m;
  const std::string caption =
      "plate's edge and ports, " + std::to_string(static_cast<int>(std::lround(times))) + " times larger";
  canvas.text({box.x, box.y - canvas.line_height(10.5F) - 3 * canvas.scale()}, caption, 10.5F, theme.faint);
}

/// A light frame on a dark one: seen on every ground, and no colour that means something else.
void draw_highlight(Canvas& canvas, const Box& box, const Theme& theme) {
  canvas.frame(box.inset(-1.5F * canvas.scale()), theme.background, 6.0F);
  canvas.frame(box, theme.text, 3.0F);
}

/// Room for the enlarged picture above the bowl; empty where there is too little.
Box Cutaway::loupe_box(const Box& left, float s) const {
  const Point corner = carburetor_stage_.at(plan_.horn - 6e-3, plan_.bowl_top + 8e-3);
  const float width = std::min(230 * s, corner.x - left.x - 14 * s);
  const float height = std::min(0.62F * width, corner.y - left.y - 28 * s);
  if (width < 120 * s || height < 60 * s) return {};
  return {left.x + 10 * s, left.y + 22 * s, width, height};
}

void Cutaway::draw(Canvas& canvas, const Box& box, const Theme& theme, double time, const Look& look) {
  const Instant now(source_, time);
  const float s = canvas.scale();
  hits_.clear();
  if (source_.empty()) {
    canvas.text({box.x + 12 * s, box.y + 12 * s}, "No rows yet: a run settles first.", 14, theme.text);
    return;
  }
  const double engine_ratio =
      (engine_plan_.right - engine_plan_.left) / (engine_plan_.top - engine_plan_.bottom);
  const float engine_width =
      std::min(0.34F * box.w, static_cast<float>(engine_ratio) * (box.h - 20 * s) + 16 * s);
  const Box left{box.x, box.y, box.w - engine_width - 6 * s, box.h};
  const Box right{left.right() + 6 * s, box.y, engine_width, box.h};

  carburetor_stage_ = fit_stage({left.x + 6 * s, left.y + 6 * s, left.w - 12 * s, left.h - 30 * s},
                                plan_.left, plan_.bottom, plan_.right, plan_.top);
  carburetor_stage_.box = left;
  if (look.zoom > 1.0) carburetor_stage_ = zoomed(carburetor_stage_, look.zoom, look.zoom_about);
  engine_stage_ = fit_stage({right.x + 4 * s, right.y + 18 * s, right.w - 8 * s, right.h - 40 * s},
                            engine_plan_.left, engine_plan_.bottom, engine_plan_.right, engine_plan_.top);
  engine_stage_.box = right;

  canvas.clip(left);
  const Scene scene{canvas, theme, source_.geometry(), signals_, now, carburetor_stage_,
                    marks_, hits_, ambient(now)};
  draw_carburetor(scene);
  if (look.marks) particles_.draw_bore(canvas, carburetor_stage_, theme);
  canvas.unclip();

  canvas.clip(right);
  const Scene engine{canvas, theme, source_.geometry(), signals_, now, engine_stage_,
                     marks_, hits_, ambient(now)};
  draw_manifold(engine, engine_plan_);
  draw_runners(engine, engine_plan_);
  draw_cylinders(engine, engine_plan_);
  if (look.marks) particles_.draw_engine(canvas, engine_stage_, theme);
  canvas.unclip();

  canvas.next_layer();
  canvas.clip(left);
  const Box inset = look.loupe && look.zoom <= 1.0 ? loupe_box(left, s) : Box();
  for (const Part part : look.highlight)
    for (const Box& place : hits_.places(part)) {
      Box frame = place.inset(-5 * s);
      // The enlarged picture lies before the drawing: a frame ends beside it.
      if (inset.w > 0 && frame.meets(inset) && frame.right() > inset.right() + 20 * s) {
        const float from = inset.right() + 6 * s;
        frame = {from, frame.y, frame.right() - from, frame.h};
      }
      draw_highlight(canvas, frame, theme);
    }
  if (look.labels) {
    const auto& at = carburetor_stage_;
    const std::string key =
        fmt::format("{} {} {} {} {} {}", at.origin.x, at.origin.y, at.pixels_per_m, left.w, s, changes_);
    if (key != labels_key_) {
      labels_ = place_labels(scene, plan_);
      labels_key_ = key;
    }
    std::vector<Label> shown;
    for (const Label& label : labels_) {
      bool about = !look.few_labels;
      for (const Part part : look.highlight)
        for (const Box& place : hits_.places(part)) about = about || place.inset(-8 * s).holds(label.target);
      if (about) shown.push_back(label);
    }
    draw_labels(scene, shown);
  }
  canvas.unclip();
  const char* caption = "Engine, to its own scale";
  canvas.text(
      {std::min(right.x, box.right() - canvas.text_width(caption, 10.5F) - 8 * s) + 4 * s, right.y + 2 * s},
      caption, 10.5F, theme.faint);
  draw_scale_bar(canvas, carburetor_stage_, theme, {left.x + 8 * s, left.bottom() - 8 * s});
  draw_scale_bar(canvas, engine_stage_, theme, {right.x + 4 * s, right.bottom() - 8 * s});

  if (inset.w > 0) draw_loupe(canvas, inset, theme, now);
  if (look.marks)
    canvas.text({left.x + 0.5F * left.w, left.bottom() - 14 * s},
                fmt::format("1 dot: {:.2f} mg fuel, hollow once evaporated", particles_.dot_mass() * 1e6),
                9.5F, theme.faint, Align::center);
}

}  // namespace glassbowl::viz
