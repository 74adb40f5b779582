#include <fmt/format.h>

#include <array>
#include <cmath>

#include "viz/cutaway/cutaway.hpp"
#include "viz/look/units.hpp"

namespace glassbowl::viz {
namespace {

constexpr float points = 11.0F;

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

void draw_legend(Canvas& canvas, const Box& box, const Theme& theme, const Signals& s, const Instant& now) {
  const float u = canvas.scale();
  const auto& g = now.source().geometry();
  double ports = 0.0;
  for (const int channel : s.port_flow)
    if (std::isfinite(now[channel])) ports += now[channel];
  struct Entry {
    Hue hue;
    double flow;
    bool fitted;
  };
  const std::array entries{
      Entry{Hue::idle, now[s.idle_flow], true}, Entry{Hue::transfer, ports, !g.ports.empty()},
      Entry{Hue::main, now[s.main_flow], true}, Entry{Hue::pump, now[s.pump_flow], g.pump_fitted},
      Entry{Hue::enrichment, now[s.enrichment_flow], g.enrichment_fitted}};
  const float scale_width = 190 * u;
  float x = box.x + 8 * u;
  for (const auto& entry : entries) {
    if (!entry.fitted) continue;
    const Box swatch{x, box.y + 4 * u, 18 * u, 12 * u};
    const sf::Color color = color_of(entry.hue, theme);
    canvas.rect(swatch, faded(color, 0.62F));
    canvas.pattern(swatch, pattern_of(entry.hue), color);
    const std::string text =
        fmt::format("{} {:.0f} mg/s", name_of(entry.hue), std::isfinite(entry.flow) ? entry.flow * 1e6 : 0.0);
    canvas.text({x + 23 * u, box.y + 2 * u}, text, points, theme.text);
    // Room for the widest number, so that nothing moves as flows change.
    x += 23 * u + canvas.text_width(fmt::format("{} 0000 mg/s", name_of(entry.hue)), points) + 14 * u;
  }
  const std::string dots = "1 dot: 0.04 mg fuel; hollow once evaporated";
  if (x + canvas.text_width(dots, points - 1) + scale_width + 20 * u < box.right())
    canvas.text({x, box.y + 3 * u}, dots, points - 1, theme.faint);
  draw_pressure_scale(canvas, {box.right() - scale_width, box.y + 3 * u, scale_width - 24 * u, 8 * u}, theme);
}

}  // namespace glassbowl::viz
