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
/// Of each of these [kg/s]; nothing where it is not fitted.
using CircuitFlows = std::array<std::optional<double>, circuits.size()>;

CircuitFlows flows_of(const Signals& s, const Instant& now) {
  const auto& g = now.source().geometry();
  const auto flow = [&](int channel, bool fitted = true) -> std::optional<double> {
    if (!fitted) return std::nullopt;
    return std::isfinite(now[channel]) ? now[channel] : 0.0;
  };
  CircuitFlows out{flow(s.idle_flow), std::nullopt, flow(s.main_flow), flow(s.pump_flow, g.pump_fitted),
                   flow(s.enrichment_flow, g.enrichment_fitted)};
  for (const int channel : s.port_flow) out[1] = out[1].value_or(0.0) + *flow(channel);
  if (g.ports.empty()) out[1] = std::nullopt;
  return out;
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
  for (const auto& [difference, text] :
       {std::pair{-60e3, "−60"}, {-5e3, "−5"}, {0.0, "0"}, {5e3, "5"}, {60e3, "60 kPa"}}) {
    const float x = box.x + box.w * static_cast<float>(pressure_place(ambient + difference, ambient));
    canvas.rect({x, box.bottom(), u, 3 * u}, theme.faint);
    canvas.text({x, box.bottom() + 2 * u}, text, 9.5F, theme.faint, Align::center);
  }
}

void draw_legend(Canvas& canvas, const Box& box, const Theme& theme, const std::vector<LegendRun>& runs) {
  const float u = canvas.scale();
  std::vector<CircuitFlows> flows;
  for (const auto& run : runs) flows.push_back(flows_of(run.signals, run.now));
  const float scale_width = 190 * u;
  struct Entry {
    Hue hue;
    std::string text, widest;
  };
  std::vector<Entry> entries;
  for (std::size_t i = 0; i < circuits.size(); ++i) {
    Entry entry{circuits[i], std::string(name_of(circuits[i])), std::string(name_of(circuits[i]))};
    bool fitted = false;
    for (const auto& of_run : flows) {
      const char* mark = &of_run == &flows.front() ? " " : " | ";
      entry.text += of_run[i] ? fmt::format("{}{:.0f}", mark, *of_run[i] * 1e6) : fmt::format("{}–", mark);
      entry.widest += fmt::format("{}0000", mark);
      fitted = fitted || of_run[i].has_value();
    }
    if (fitted) entries.push_back(std::move(entry));
  }
  // Room for the widest numbers, so that nothing moves as flows change. Where that is too much, the unit
  // stands once, and letters are smaller.
  const std::string unit = " mg/s";
  bool once = false;
  float size = points;
  const auto width_of = [&](const Entry& entry) {
    const bool with_unit = !once || &entry == &entries.back();
    return 23 * u + canvas.text_width(with_unit ? entry.widest + unit : entry.widest, size) + 14 * u;
  };
  const auto too_wide = [&] {
    float all = 8 * u;
    for (const Entry& entry : entries) all += width_of(entry);
    return all > box.w - scale_width - 8 * u;
  };
  once = too_wide();
  while (size > 0.6F * points && too_wide()) size -= 0.5F;
  float x = box.x + 8 * u;
  for (const Entry& entry : entries) {
    const Box swatch{x, box.y + 4 * u, 18 * u, 12 * u};
    const sf::Color color = color_of(entry.hue, theme);
    canvas.rect(swatch, faded(color, 0.62F));
    canvas.pattern(swatch, pattern_of(entry.hue), color);
    const bool with_unit = !once || &entry == &entries.back();
    canvas.text({x + 23 * u, box.y + 2 * u}, with_unit ? entry.text + unit : entry.text, size, theme.text);
    x += width_of(entry);
  }
  const std::string dots = "1 dot: 0.04 mg fuel; hollow once evaporated";
  if (x + canvas.text_width(dots, points - 1) + scale_width + 20 * u < box.right())
    canvas.text({x, box.y + 3 * u}, dots, points - 1, theme.faint);
  draw_pressure_scale(canvas, {box.right() - scale_width, box.y + 3 * u, scale_width - 24 * u, 8 * u}, theme);
}

}  // namespace glassbowl::viz
