#include "viz/plots/differences.hpp"

#include <algorithm>
#include <array>
#include <cmath>

#include "viz/look/units.hpp"

namespace glassbowl::viz {
namespace {

constexpr double worth_marking = 0.05;
constexpr float points = 11.5F;

}  // namespace

void draw_differences(Canvas& canvas, const Box& box, const Theme& theme, Source& first, const Signals& a,
                      Source& second, const Signals& b, double time) {
  const float u = canvas.scale();
  canvas.rect(box, theme.panel);
  const Instant now(first, time), then(second, time);
  struct Row {
    const char* name;
    const char* unit;
    double left, right;
  };
  const auto front = [](const std::vector<int>& channels) {
    return channels.empty() ? no_channel : channels.front();
  };
  const std::array rows{Row{"speed", "rad/s", now[a.speed], then[b.speed]},
                        Row{"manifold", "Pa", now[a.manifold_pressure], then[b.manifold_pressure]},
                        Row{"depression", "Pa", now[a.depression], then[b.depression]},
                        Row{"λ cylinder 1", "1", now[front(a.trapped_lambda)], then[front(b.trapped_lambda)]},
                        Row{"main fuel", "kg/s", now[a.main_flow], then[b.main_flow]},
                        Row{"all fuel", "kg/s", now[a.fuel_flow], then[b.fuel_flow]},
                        Row{"air", "kg/s", now[a.air_flow], then[b.air_flow]},
                        Row{"well level", "m", now[a.well_level], then[b.well_level]}};
  const float width = box.w / static_cast<float>(rows.size());
  const float line = canvas.line_height(points);
  for (std::size_t i = 0; i < rows.size(); ++i) {
    const auto& r = rows[i];
    const float x = box.x + width * static_cast<float>(i) + 8 * u;
    const double size = std::max(std::abs(r.left), std::abs(r.right));
    const Shown shown = shown_unit(r.unit, size);
    const bool differs =
        std::isfinite(r.left) && std::isfinite(r.right) && std::abs(r.left - r.right) > worth_marking * size;
    if (differs) canvas.rect({x - 6 * u, box.y + 4 * u, 3 * u, box.h - 8 * u}, theme.warning);
    canvas.text({x, box.y + 4 * u}, std::string(r.name) + (shown.unit.empty() ? "" : " [" + shown.unit + "]"),
                points - 1, theme.faint);
    canvas.text({x, box.y + 4 * u + line}, figures(shown.of(r.left)), points, theme.text);
    canvas.text({x, box.y + 4 * u + 2 * line}, figures(shown.of(r.right)), points, theme.text);
    if (differs && std::abs(r.left) > 0)
      canvas.text(
          {x, box.y + 4 * u + 3 * line},
          (r.right > r.left ? "right +" : "right -") + figures(100 * std::abs(r.right / r.left - 1)) + " %",
          points - 1, theme.warning);
  }
}

}  // namespace glassbowl::viz
