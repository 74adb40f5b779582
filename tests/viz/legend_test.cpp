#include <catch2/catch.hpp>

#include "tests/viz/pixels.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/cutaway/cutaway.hpp"
#include "viz/source/trace_source.hpp"

namespace glassbowl::viz {
namespace {

constexpr Box area{0, 40, 1280, 27};

int pixels_of(Hue hue, const sf::Image& image) {
  int count = 0;
  for (unsigned y = 40; y < 67; ++y)
    for (unsigned x = 0; x < 1000; ++x)
      count += distance(image.getPixel(x, y), color_of(hue, dark_theme())) < 30 ? 1 : 0;
  return count;
}

}  // namespace

TEST_CASE("legend: side by side, circuits and flows of both bikes are in it", "[viz][legend]") {
  TraceSource fixed(RunFiles::fixed_venturi()), piston(RunFiles::vacuum_piston());
  const Signals of_fixed(fixed), of_piston(piston);
  const LegendRun left{of_fixed, Instant(fixed, 0.3)}, right{of_piston, Instant(piston, 0.3)};
  const auto draw = [](const std::vector<LegendRun>& runs) {
    return picture([&](Canvas& canvas) { draw_legend(canvas, area, dark_theme(), runs); });
  };
  // One has a pump and no enrichment, the other the reverse.
  const sf::Image alone = draw({left}), both = draw({left, right}), twice = draw({left, left});
  CHECK(pixels_of(Hue::pump, alone) > 10);
  CHECK(pixels_of(Hue::enrichment, alone) == 0);
  CHECK(pixels_of(Hue::pump, both) > 10);
  CHECK(pixels_of(Hue::enrichment, both) > 10);
  CHECK(pixels_of(Hue::enrichment, twice) == 0);
}

}  // namespace glassbowl::viz
