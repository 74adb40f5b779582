#include "viz/plots/differences.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <cmath>

#include "viz/look/units.hpp"

namespace glassbowl::viz {
namespace {

constexpr double worth_marking = 0.05;
constexpr float points = 11.5F;

/// Mean over the engine cycle, or the present value where `per_cycle` is no channel of the run.
struct Compared {
  const char* name;
  const char* per_cycle;
  const char* present;
  double least;  ///< [SI] differences below it are of no interest
};
constexpr std::array compared{Compared{"speed", "cycle_speed", "", 2.0},
                              Compared{"manifold", "cycle_manifold_pressure", "", 500.0},
                              Compared{"depression", "cycle_depression", "", 20.0},
                              Compared{"λ carburetor", "cycle_lambda", "", 0.02},
                              Compared{"λ cylinder 1", "cycle_cylinder_1_lambda", "", 0.02},
                              Compared{"fuel", "cycle_fuel_flow", "", 5e-6},
                              Compared{"air", "cycle_air_flow", "", 1e-4},
                              Compared{"well level", "", "well_level", 3e-4}};

struct Value {
  double value;
  std::string unit;
};

Value value_of(const Compared& what, Source& source, const Instant& now) {
  if (const int cycle = source.find_cycle(what.per_cycle); cycle != no_channel)
    return {now.cycle(cycle), source.cycle_channels()[static_cast<std::size_t>(cycle)].unit};
  const int channel = source.find(what.present);
  if (channel == no_channel) return {now[channel], "1"};
  return {now[channel], source.channels()[static_cast<std::size_t>(channel)].unit};
}

/// In per cent, but for what is counted from a mark of one's choice, as levels are.
std::string difference(double left, double right, const std::string& unit, const Shown& shown) {
  const char* sign = right > left ? "+" : "−";
  const bool alike = unit != "m" && left * right > 0.0 && right / left < 10.0 && left / right < 10.0;
  if (alike) return fmt::format("{}{} %", sign, figures(100.0 * std::abs(right / left - 1.0)));
  return fmt::format("{}{}", sign, figures(std::abs(shown.of(right) - shown.of(left))));
}

}  // namespace

void draw_differences(Canvas& canvas, const Box& box, const Theme& theme, Source& first, Source& second,
                      double time) {
  const float u = canvas.scale(), line = canvas.line_height(points);
  canvas.rect(box, theme.panel);
  const Instant now(first, time), then(second, time);
  const std::array heads{"mean of the cycle", "left", "right", "right against left"};
  const float names = canvas.text_width(heads[3], points - 1) + 20 * u;
  const auto at = [&](std::size_t row) { return box.y + 5 * u + static_cast<float>(row) * line; };
  for (std::size_t row = 0; row < heads.size(); ++row)
    canvas.text({box.x + 8 * u, at(row)}, heads[row], points - 1, theme.faint);
  const float width = (box.w - names) / static_cast<float>(compared.size());
  for (std::size_t i = 0; i < compared.size(); ++i) {
    const auto left = value_of(compared[i], first, now), right = value_of(compared[i], second, then);
    const float x = box.x + names + width * static_cast<float>(i) + 8 * u;
    const double size = std::max(std::abs(left.value), std::abs(right.value));
    const double apart = std::abs(left.value - right.value);
    const Shown shown = shown_unit(left.unit, std::isfinite(size) ? size : 0.0);
    const bool differs = apart > std::max(worth_marking * size, compared[i].least);
    if (differs) canvas.rect({x - 7 * u, box.y + 5 * u, 3 * u, box.h - 10 * u}, theme.second);
    canvas.text({x, at(0)}, compared[i].name + (shown.unit.empty() ? "" : " [" + shown.unit + "]"),
                points - 1, theme.faint);
    canvas.text({x, at(1)}, figures(shown.of(left.value)), points, theme.text);
    canvas.text({x, at(2)}, figures(shown.of(right.value)), points, theme.second);
    if (differs)
      canvas.text({x, at(3)}, difference(left.value, right.value, left.unit, shown), points, theme.text);
  }
}

}  // namespace glassbowl::viz
