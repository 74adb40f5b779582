#include "viz/plots/overlap.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>

#include "viz/look/units.hpp"

namespace glassbowl::viz {
namespace {

constexpr std::array<Hue, Overlap::circuits> hues{Hue::idle, Hue::transfer, Hue::main, Hue::pump,
                                                  Hue::enrichment};
constexpr double much = 0.10;          // share that counts for an overlap
constexpr double small_opening = 0.2;  // throttle shown when enlarged
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
  return bins_;
}

void Overlap::draw(Canvas& canvas, const Box& box, const Theme& theme, const Instant& now, bool enlarged) {
  const float u = canvas.scale();
  const auto& all = collect(enlarged);
  const double top = enlarged ? small_opening : 1.0;
  canvas.text({box.x + 16 * u, box.y + 10 * u}, "Share of each circuit in the fuel, over throttle", 17,
              theme.text);
  canvas.text({box.x + 16 * u, box.y + 34 * u},
              "From all rows of this run at each opening, sudden movements included. Bars below mark where "
              "two circuits each carry over a tenth.",
              11.5F, theme.faint);
  const Box plot{box.x + 70 * u, box.y + 88 * u, box.w - 320 * u, box.h - 172 * u};
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
    for (const Box& bar : bars[c]) canvas.rect(bar, faded(color, 0.62F));
    for (const Box& bar : bars[c]) canvas.pattern(bar, pattern_of(hues[c]), color);
  }
  canvas.frame(plot, theme.edge);

  // Present point.
  const double throttle = now[signals_.throttle];
  if (throttle <= top) {
    const float x = plot.x + plot.w * static_cast<float>(throttle / top);
    canvas.rect({x - 1 * u, plot.y - 6 * u, 2 * u, plot.h + 12 * u}, theme.cursor);
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
    canvas.rect(swatch, faded(color_of(hues[c], theme), 0.62F));
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
