#include "viz/plots/overlap.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <tuple>

#include "viz/look/units.hpp"

namespace glassbowl::viz {
namespace {

constexpr std::array<Hue, Overlap::circuits> hues{Hue::idle, Hue::transfer, Hue::main, Hue::pump,
                                                  Hue::enrichment};
constexpr double much = 0.10;          // share that counts for an overlap
constexpr double small_opening = 0.2;  // throttle shown when enlarged
constexpr double steady = 0.15;        // [1/s] of throttle, up to which shares are those of held openings
constexpr double low_lambda = 0.6, high_lambda = 1.4;
constexpr std::size_t most_rows = 20000;

}  // namespace

Overlap::Overlap(Source& source, const Signals& signals) : source_(source), signals_(signals) {}

double Overlap::Bin::total() const {
  double sum = 0.0;
  for (const double f : fuel) sum += f;
  return sum;
}

bool Overlap::Bin::overlaps() const {
  const double sum = total();
  return sum > 0.0 && std::count_if(fuel.begin(), fuel.end(), [&](double f) { return f > much * sum; }) > 1;
}

double Overlap::edge(std::size_t bin, bool enlarged) const {
  return (enlarged ? small_opening : 1.0) * static_cast<double>(bin) / static_cast<double>(bins);
}

const std::vector<Overlap::Bin>& Overlap::collect(bool enlarged) {
  if (source_.end_row() == rows_ && enlarged == enlarged_ && !bins_.empty()) return bins_;
  rows_ = source_.end_row();
  enlarged_ = enlarged;
  bins_.assign(bins, {});
  const std::size_t first = source_.first_row();
  const std::size_t step = std::max<std::size_t>(1, (rows_ - first) / most_rows);
  const double top = enlarged ? small_opening : 1.0;
  for (std::size_t row = first; row < rows_; row += step) {
    const double throttle = source_.value(signals_.throttle, row);
    if (!(throttle >= 0.0) || throttle > top) continue;
    auto& bin = bins_[std::min(bins - 1, static_cast<std::size_t>(throttle / top * bins))];
    const auto add = [&](std::size_t circuit, int channel) {
      if (channel == no_channel) return;
      const double flow = source_.value(channel, row);
      if (flow > 0.0) bin.fuel[circuit] += flow;
    };
    add(0, signals_.idle_flow);
    for (const int port : signals_.port_flow) add(1, port);
    add(2, signals_.main_flow);
    add(3, signals_.pump_flow);
    add(4, signals_.enrichment_flow);
  }
  const Mixture mixture(source_);
  fastest_ = 0.0;
  for (const auto& cycle : mixture.between(source_.first_time(), source_.last_time())) {
    const double from = Instant(source_, cycle.start)[signals_.throttle],
                 to = Instant(source_, cycle.start + cycle.duration)[signals_.throttle];
    fastest_ = std::max(fastest_, std::abs(to - from) / std::max(1e-3, cycle.duration));
    const double throttle = 0.5 * (from + to);
    if (!(throttle >= 0.0) || throttle > top) continue;
    auto& bin = bins_[std::min(bins - 1, static_cast<std::size_t>(throttle / top * bins))];
    for (const auto& c : cycle.cylinders) {
      if (!std::isfinite(c.lambda)) continue;
      bin.leanest = std::max(bin.leanest, c.lambda);
      bin.richest = std::min(bin.richest, c.lambda);
    }
    bin.limit = std::min(bin.limit, cycle.limit);
  }
  return bins_;
}

/// Each circuit's name in its own area, where it has most room.
void Overlap::label_circuits(Canvas& canvas, const Box& plot, const Theme& theme) const {
  const float u = canvas.scale(), width = plot.w / static_cast<float>(bins), high = canvas.line_height(13);
  for (std::size_t c = 0; c < circuits; ++c) {
    const std::string name = name_of(hues[c]);
    const auto needed = static_cast<std::size_t>(std::ceil((canvas.text_width(name, 13) + 10 * u) / width));
    float best = high, best_x = 0, best_y = 0;
    for (std::size_t i = 0; i + needed <= bins; ++i) {
      float top = plot.y, bottom = plot.bottom();  // of the area over all bins that the name covers
      for (std::size_t k = i; k < i + needed && bottom - top > best; ++k) {
        const double total = bins_[k].total();
        if (!(total > 0.0)) bottom = top;
        double under = 0.0;
        for (std::size_t o = 0; o < c; ++o) under += bins_[k].fuel[o] / total;
        bottom = std::min(bottom, plot.bottom() - plot.h * static_cast<float>(under));
        top = std::max(top, plot.bottom() - plot.h * static_cast<float>(under + bins_[k].fuel[c] / total));
      }
      if (bottom - top <= best) continue;
      best = bottom - top;
      best_x = plot.x + width * (static_cast<float>(i) + 0.5F * static_cast<float>(needed));
      best_y = 0.5F * (top + bottom);
    }
    if (best_x <= 0.0F) continue;
    const float wide = canvas.text_width(name, 13);
    canvas.rect({best_x - 0.5F * wide - 5 * u, best_y - 0.5F * high, wide + 10 * u, high},
                faded(theme.background, 0.86F));
    canvas.text({best_x, best_y - 0.5F * high}, name, 13, theme.text, Align::center);
  }
}

/// Below the shares: lambda of the cylinders over the same axis, with the lean limit.
void Overlap::draw_lambda(Canvas& canvas, const Box& plot, const Theme& theme) const {
  const float u = canvas.scale(), width = plot.w / static_cast<float>(bins);
  canvas.rect(plot, theme.panel);
  const auto y = [&](double lambda) {
    return plot.bottom() -
           plot.h * static_cast<float>((std::clamp(lambda, low_lambda, high_lambda) - low_lambda) /
                                       (high_lambda - low_lambda));
  };
  for (const double level : {0.6, 0.8, 1.0, 1.2, 1.4}) {
    canvas.line({plot.x, y(level)}, {plot.right(), y(level)}, theme.grid);
    canvas.text({plot.x - 8 * u, y(level) - 8 * u}, fmt::format("{:.1f}", level), 11, theme.faint,
                Align::right);
  }
  canvas.text({plot.right() + 24 * u, plot.y}, "lambda in the cylinders,", 12, theme.text);
  canvas.text({plot.right() + 24 * u, plot.y + 17 * u}, "richest to leanest cycle", 12, theme.text);
  canvas.text({plot.right() + 24 * u, plot.y + 38 * u}, "red: beyond the lean limit", 12, theme.danger);
  for (std::size_t i = 0; i < bins_.size(); ++i) {
    const auto& bin = bins_[i];
    if (!bin.has_lambda()) continue;
    const float x = std::round(plot.x + width * static_cast<float>(i));
    const float wide = std::round(plot.x + width * static_cast<float>(i + 1)) - x;
    canvas.rect({x, plot.y, wide, y(bin.limit) - plot.y}, faded(theme.danger, 0.22F));
    canvas.line({x, y(bin.limit)}, {x + wide, y(bin.limit)}, theme.danger, 1.4F);
    const float top = y(bin.leanest), bottom = std::max(top + 2.5F * u, y(bin.richest));
    canvas.rect({x + 0.2F * wide, top, 0.6F * wide, bottom - top}, theme.text);
    if (bin.beyond())
      canvas.rect({x + 0.2F * wide, top, 0.6F * wide, std::min(bottom, y(bin.limit)) - top}, theme.danger);
    for (const auto& [out, place, text] : {std::tuple{bin.leanest > high_lambda, plot.y + u, "▲"},
                                           {bin.richest < low_lambda, plot.bottom() - 12 * u, "▼"}})
      if (out) canvas.text({x + 0.5F * wide, place}, text, 8, theme.text, Align::center);
  }
  canvas.frame(plot, theme.edge);
}

void Overlap::draw(Canvas& canvas, const Box& box, const Theme& theme, const Instant& now, bool enlarged) {
  const float u = canvas.scale();
  const auto& all = collect(enlarged);
  const double top = enlarged ? small_opening : 1.0;
  canvas.text({box.x + 16 * u, box.y + 10 * u}, "Share of each circuit in the fuel, over throttle", 17,
              theme.text);
  canvas.text(
      {box.x + 16 * u, box.y + 34 * u},
      fastest_ > steady
          ? fmt::format("NOT STEADY: the throttle moves at up to {:.0f} % per second, so shares and lambda "
                        "contain what acceleration adds. A slow sweep shows the circuits alone.",
                        100 * fastest_)
          : "From all rows of this run at each opening. Bars below mark where two circuits each carry over "
            "a tenth.",
      11.5F, fastest_ > steady ? theme.text : theme.faint);
  const float lambda_height = std::round(0.2F * box.h);
  const Box plot{box.x + 70 * u, box.y + 88 * u, box.w - 320 * u, box.h - 172 * u - lambda_height};
  const Box below{plot.x, plot.bottom() + 68 * u, plot.w, lambda_height - 10 * u};
  draw_lambda(canvas, below, theme);
  canvas.rect(plot, theme.panel);
  for (int i = 0; i <= 5; ++i) {
    const float y = plot.bottom() - plot.h * static_cast<float>(i) / 5;
    canvas.line({plot.x, y}, {plot.right(), y}, theme.grid);
    canvas.text({plot.x - 8 * u, y - 8 * u}, fmt::format("{} %", 20 * i), 12, theme.faint, Align::right);
    const float x = plot.x + plot.w * static_cast<float>(i) / 5;
    canvas.text({x, plot.bottom() + 18 * u}, fmt::format("{:.0f} %", 20.0 * i * top), 12, theme.faint,
                Align::center);
  }
  canvas.text({plot.x + 0.5F * plot.w, plot.bottom() + 38 * u},
              enlarged ? "throttle, small openings enlarged" : "throttle", 13, theme.text, Align::center);
  const float width = plot.w / static_cast<float>(bins);
  std::array<std::vector<Box>, circuits> bars;
  for (std::size_t i = 0; i < all.size(); ++i) {
    const double total = all[i].total();
    // On whole pixels, so that neighbours neither overlap nor part.
    const float x = std::round(plot.x + width * static_cast<float>(i));
    const float wide = std::round(plot.x + width * static_cast<float>(i + 1)) - x;
    if (total <= 0.0) continue;
    float base = plot.bottom();
    for (std::size_t c = 0; c < circuits; ++c) {
      const float h = plot.h * static_cast<float>(all[i].fuel[c] / total);
      if (h < 0.3F) continue;
      bars[c].push_back({x, base - h, wide, h});
      base -= h;
    }
    if (all[i].overlaps()) canvas.rect({x, plot.bottom() + 5 * u, wide, 7 * u}, theme.text);
  }
  // One circuit after another, so that each pattern is set once.
  for (std::size_t c = 0; c < circuits; ++c) {
    const sf::Color color = color_of(hues[c], theme);
    for (const Box& bar : bars[c])
      canvas.rect(bar, theme.print ? ground_of(hues[c], theme) : faded(color, 0.62F));
    for (const Box& bar : bars[c]) canvas.pattern(bar, pattern_of(hues[c]), color);
  }
  canvas.frame(plot, theme.edge);
  label_circuits(canvas, plot, theme);

  // Present point.
  const double throttle = now[signals_.throttle];
  if (throttle <= top) {
    const float x = plot.x + plot.w * static_cast<float>(throttle / top);
    canvas.rect({x - 1 * u, plot.y - 6 * u, 2 * u, plot.h + 12 * u}, theme.cursor);
    canvas.rect({x - 1 * u, below.y, 2 * u, below.h}, theme.cursor);
    const std::string text = fmt::format("now {:.1f} %", 100 * throttle);
    const float w = canvas.text_width(text, 12);
    canvas.text({std::clamp(x, plot.x + 0.5F * w, plot.right() - 0.5F * w), plot.y - 22 * u}, text, 12,
                theme.text, Align::center);
  } else {
    canvas.text({plot.right(), plot.y - 22 * u},
                fmt::format("now {:.0f} %, beyond this view", 100 * throttle), 12, theme.text, Align::right);
  }
  const auto bin = std::min(bins - 1, static_cast<std::size_t>(std::max(0.0, throttle) / top * bins));
  const double total = throttle <= top ? all[bin].total() : 0.0;
  const auto& g = source_.geometry();
  float y = plot.y;
  for (std::size_t c = 0; c < circuits; ++c) {
    if ((hues[c] == Hue::pump && !g.pump_fitted) || (hues[c] == Hue::enrichment && !g.enrichment_fitted))
      continue;
    const Box swatch{plot.right() + 24 * u, y, 22 * u, 15 * u};
    canvas.rect(swatch, theme.print ? ground_of(hues[c], theme) : faded(color_of(hues[c], theme), 0.62F));
    canvas.pattern(swatch, pattern_of(hues[c]), color_of(hues[c], theme));
    canvas.text({swatch.right() + 8 * u, y - 1 * u}, name_of(hues[c]), 13, theme.text);
    if (total > 0.0)
      canvas.text({box.right() - 16 * u, y - 1 * u},
                  fmt::format("{:.0f} %", 100.0 * all[bin].fuel[c] / total), 13, theme.faint, Align::right);
    y += 26 * u;
  }
  if (total > 0.0)
    canvas.text({plot.right() + 24 * u, y + 2 * u}, "shares at the present opening", 11, theme.faint);
}

}  // namespace glassbowl::viz
