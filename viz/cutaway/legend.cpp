#include <fmt/format.h>

#include <array>
#include <cmath>
#include <optional>
#include <string>
#include <vector>

#include "viz/cutaway/cutaway.hpp"
#include "viz/look/units.hpp"

namespace glassbowl::viz {
namespace {

constexpr float points = 11.0F;

constexpr std::array circuits{Hue::idle, Hue::transfer, Hue::main, Hue::pump, Hue::enrichment};
/// Fuel [kg/s] of each of these; nothing where it is not fitted, NaN where it is not known.
using CircuitFlows = std::array<std::optional<double>, circuits.size()>;

/// `read(crank-resolved channel, cycle-averaged channel)` gives a flow.
template <class Read>
CircuitFlows flows_of(const Signals& s, const Instant& now, Read read) {
  const auto& g = now.source().geometry();
  CircuitFlows out{read(s.idle_flow, s.cycle_idle), std::nullopt, read(s.main_flow, s.cycle_main),
                   std::nullopt, std::nullopt};
  if (g.pump_fitted) out[3] = read(s.pump_flow, s.cycle_pump);
  if (g.enrichment_fitted) out[4] = read(s.enrichment_flow, s.cycle_enrichment);
  for (std::size_t i = 0; i < s.port_flow.size() && i < g.ports.size(); ++i)
    out[1] = out[1].value_or(0.0) + read(s.port_flow[i], s.cycle_port[i]);
  return out;
}

CircuitFlows present_flows(const Signals& s, const Instant& now) {
  return flows_of(s, now, [&](int row, int) { return std::isfinite(now[row]) ? now[row] : 0.0; });
}
CircuitFlows mean_flows(const Signals& s, const Instant& now) {
  return flows_of(s, now, [&](int, int cycle) { return now.cycle(cycle); });
}

void draw_swatch(Canvas& canvas, const Box& box, Hue hue, const Theme& theme) {
  const sf::Color color = color_of(hue, theme);
  canvas.rect(box, theme.print ? ground_of(hue, theme) : mixed(theme.panel, color, 0.62F));
  canvas.pattern(box, pattern_of(hue), color);
}

}  // namespace

void draw_pressure_scale(Canvas& canvas, const Box& box, const Theme& theme) {
  const float u = canvas.scale();
  constexpr std::size_t pieces = 40;
  const float width = box.w / pieces;
  const double ambient = 101325.0;
  // Evenly along the scale; marks at the pressures that they name.
  static const auto pressures = [&] {
    std::array<double, pieces + 1> out{};
    for (std::size_t k = 0; k < out.size(); ++k) {
      double low = -90e3, high = 90e3;
      for (int i = 0; i < 40; ++i) {
        const double middle = 0.5 * (low + high);
        (pressure_place(ambient + middle, ambient) < static_cast<double>(k) / pieces ? low : high) = middle;
      }
      out[k] = ambient + 0.5 * (low + high);
    }
    return out;
  }();
  for (std::size_t k = 0; k < pieces; ++k)
    canvas.gradient({box.x + width * static_cast<float>(k), box.y, width + 1, box.h},
                    pressure_color(pressures[k], ambient, theme),
                    pressure_color(pressures[k + 1], ambient, theme));
  canvas.frame(box, theme.edge);
  canvas.text({box.x - 6 * u, box.y - 4 * u}, "pressure", 9.5F, theme.faint, Align::right);
  canvas.text({box.x - 6 * u, box.y + 6 * u}, "above air", 9.5F, theme.faint, Align::right);
  for (const auto& [difference, text] :
       {std::pair{-60e3, "−60"}, {-5e3, "−5"}, {0.0, "0"}, {5e3, "5"}, {60e3, "60 kPa"}}) {
    const float x = box.x + box.w * static_cast<float>(pressure_place(ambient + difference, ambient));
    canvas.rect({x, box.bottom(), u, 3 * u}, theme.faint);
    canvas.text({x, box.bottom() + 2 * u}, text, 9.5F, theme.faint, Align::center);
  }
}

void draw_share_band(Canvas& canvas, const Box& box, const Theme& theme, const LegendRun& run) {
  const float u = canvas.scale();
  const auto flows = mean_flows(run.signals, run.now);
  double sum = 0.0;
  for (const auto& flow : flows) sum += flow && std::isnan(*flow) ? *flow : std::max(0.0, flow.value_or(0.0));
  canvas.rect(box, theme.panel);
  if (!(sum > 1e-9)) {
    canvas.text({box.x + 8 * u, box.y + 0.5F * (box.h - canvas.line_height(14))},
                std::isfinite(sum) ? "no fuel in this engine cycle" : "no whole engine cycle yet", 14,
                theme.faint);
    return;
  }
  float x = box.x;
  for (std::size_t i = 0; i < circuits.size(); ++i) {
    const double share = std::max(0.0, flows[i].value_or(0.0)) / sum;
    const Box piece{x, box.y, box.w * static_cast<float>(share), box.h};
    x += piece.w;
    if (piece.w < 1.0F) continue;
    draw_swatch(canvas, piece, circuits[i], theme);
    // Large type for the back row, as much of it as there is room for.
    const std::string name = name_of(circuits[i]), number = fmt::format("{:.0f} %", 100.0 * share);
    for (const auto& [text, points] : {std::pair{name + "  " + number, 16.0F},
                                       {name + " " + number, 12.0F},
                                       {number, 16.0F},
                                       {number, 11.0F}}) {
      const float width = canvas.text_width(text, points);
      if (width + 16 * u > piece.w) continue;
      const float high = canvas.line_height(points);
      const Box ground{piece.x + 0.5F * (piece.w - width) - 5 * u, piece.y + 0.5F * (piece.h - high),
                       width + 10 * u, high};
      canvas.rect(ground, faded(theme.background, 0.86F));
      canvas.text({ground.x + 5 * u, ground.y}, text, points, theme.text);
      break;
    }
  }
  canvas.frame(box, theme.edge);
}

void draw_legend(Canvas& canvas, const Box& box, const Theme& theme, const std::vector<LegendRun>& runs) {
  const float u = canvas.scale();
  const bool one = runs.size() == 1;
  std::vector<CircuitFlows> means;
  for (const auto& run : runs) means.push_back(mean_flows(run.signals, run.now));
  const auto present = present_flows(runs.front().signals, runs.front().now);
  const float scale_width = 212 * u;
  struct Entry {
    Hue hue;
    std::string text, now, widest;
  };
  std::vector<Entry> entries;
  for (std::size_t i = 0; i < circuits.size(); ++i) {
    Entry entry{circuits[i], std::string(name_of(circuits[i])), "", std::string(name_of(circuits[i]))};
    bool fitted = false;
    for (const auto& of_run : means) {
      const char* mark = &of_run == &means.front() ? " " : " | ";
      entry.text += of_run[i] && std::isfinite(*of_run[i])
                        ? fmt::format("{}{:.0f}", mark, std::abs(*of_run[i]) * 1e6)
                        : fmt::format("{}–", mark);
      entry.widest += fmt::format("{}0000", mark);
      fitted = fitted || of_run[i].has_value();
    }
    if (one && present[i]) entry.now = fmt::format("now {:.0f}", *present[i] * 1e6 + 0.0);
    if (fitted) entries.push_back(std::move(entry));
  }
  // Room for the widest numbers, so that nothing moves as flows change; letters are smaller where needed.
  float size = points;
  const std::string head = "mg/s, mean of the cycle:";
  const auto width_of = [&](const Entry& entry) {
    return 23 * u + canvas.text_width(entry.widest, size) +
           (one ? canvas.text_width(" now 00000", size - 1) : 0.0F) + 12 * u;
  };
  const auto all = [&] {
    float width = 8 * u + canvas.text_width(head, size - 1) + 10 * u;
    for (const Entry& entry : entries) width += width_of(entry);
    return width;
  };
  while (size > 0.6F * points && all() > box.w - scale_width - 8 * u) size -= 0.5F;
  float x = box.x + 8 * u;
  canvas.text({x, box.y + 3 * u}, head, size - 1, theme.faint);
  x += canvas.text_width(head, size - 1) + 10 * u;
  for (const Entry& entry : entries) {
    draw_swatch(canvas, {x, box.y + 4 * u, 18 * u, 12 * u}, entry.hue, theme);
    canvas.text({x + 23 * u, box.y + 2 * u}, entry.text, size, theme.text);
    if (one)
      canvas.text({x + 23 * u + canvas.text_width(entry.text, size) + 6 * u, box.y + 3 * u}, entry.now,
                  size - 1, theme.faint);
    x += width_of(entry);
  }
  draw_pressure_scale(
      canvas, {box.right() - scale_width + 50 * u, box.y + 3 * u, scale_width - 74 * u, 8 * u}, theme);
}

}  // namespace glassbowl::viz
