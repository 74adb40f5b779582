#include <catch2/catch.hpp>

#include "tests/viz/pixels.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/plots/strips.hpp"
#include "viz/source/trace_source.hpp"

namespace glassbowl::viz {
namespace {

constexpr Box area{0, 100, 1280, 560};

struct Plotted {
  explicit Plotted(const std::filesystem::path& file)
      : source(file), signals(source), strips(source, signals, test_font()) {}
  sf::Image at(double time) {
    const Instant now(source, time);
    return picture([&](Canvas& canvas) { strips.draw(canvas, area, dark_theme(), now); });
  }
  TraceSource source;
  Signals signals;
  Strips strips;
};

}  // namespace

TEST_CASE("strips: the cursor's mark on a lambda curve stands at the recorded value", "[viz][strips]") {
  Plotted plotted(RunFiles::fixed_venturi());
  const sim::TraceReader trace(RunFiles::fixed_venturi());
  const auto times = trace.read("time"), lambda = trace.read("cylinder_1_trapped_lambda"),
             other = trace.read("cylinder_2_trapped_lambda");
  // The axis by its two ends, found in the picture once from values far apart.
  int checked = 0;
  for (const double wanted : random_times(40, 0.02, 0.58)) {
    const auto row =
        static_cast<std::size_t>(std::lower_bound(times.begin(), times.end(), wanted) - times.begin());
    const double time = times[row], value = lambda[row];
    const sf::Image image = plotted.at(time);
    const Box plot = plotted.strips.plot(0);
    const float x = plotted.strips.x_of(time);
    const float y = plotted.strips.y_of(0, value);
    if (!std::isfinite(value) || y < plot.y + 5 || y > plot.bottom() - 5) continue;
    if (std::abs(plotted.strips.y_of(0, other[row]) - y) < 18)
      continue;  // the other cylinder's mark lies over it
    // A step of the curve beside the mark has the same colour.
    constexpr std::size_t beside = 16;
    if (row < beside || row + beside >= lambda.size() || lambda[row - beside] != value ||
        lambda[row + beside] != value)
      continue;
    const sf::Color color = dark_theme().text;
    double sx = 0, sy = 0, count = 0;
    for (float dy = -6; dy <= 6; ++dy)
      for (float dx = -3; dx <= 3; ++dx) {
        if (y + dy < plot.y || y + dy >= plot.bottom() || distance(pixel(image, x + dx, y + dy), color) > 6)
          continue;
        sx += static_cast<double>(std::floor(x + dx)) + 0.5,
            sy += static_cast<double>(std::floor(y + dy)) + 0.5, ++count;
      }
    CAPTURE(time, value);
    REQUIRE(count > 6);
    CHECK(std::abs(sy / count - static_cast<double>(y)) <= 1.0);
    CHECK(std::abs(sx / count - static_cast<double>(x)) <= 1.0);
    ++checked;
  }
  CHECK(checked >= 5);
}

TEST_CASE("strips: curves stand at the recorded values on an axis that is linear", "[viz][strips]") {
  Plotted plotted(RunFiles::fixed_venturi());
  // Throttle runs from 5 to 60 %: two places whose distance the picture must show in that ratio.
  std::size_t throttle = 0;
  while (plotted.strips.list()[throttle].name != "Throttle") ++throttle;
  const auto mark_height = [&](double time) {
    const sf::Image image = plotted.at(time);
    const Box plot = plotted.strips.plot(throttle);
    const float x = plotted.strips.x_of(time);
    double sum = 0, count = 0;
    for (float y = plot.y; y < plot.bottom(); ++y)
      if (distance(pixel(image, x, y), dark_theme().text) < 6)
        sum += static_cast<double>(std::floor(y)) + 0.5, ++count;
    return sum / count;
  };
  const double low = mark_height(0.05), half = mark_height(0.13), high = mark_height(0.3);
  CHECK(std::abs((low - half) / (low - high) - 0.5) <= 1.0 / (low - high));
}

TEST_CASE("strips: the stack is as high as all fluxes together, and each part as its own", "[viz][strips]") {
  Plotted plotted(RunFiles::fixed_venturi());
  const sim::TraceReader trace(RunFiles::fixed_venturi());
  std::size_t stacked = 0;
  while (!plotted.strips.list()[stacked].stacked) ++stacked;
  // A hundredth of a second over the whole width: several pixels for each row.
  for (const double from : {0.05, 0.30, 0.35, 0.50}) {
    plotted.strips.show(from, from + 0.01);
    const sf::Image image = plotted.at(from - 1.0);  // cursor out of sight
    const Box plot = plotted.strips.plot(stacked);
    const double per_unit =
        static_cast<double>(plotted.strips.y_of(stacked, 0.0) - plotted.strips.y_of(stacked, 1.0));
    const auto times = trace.read("time");
    for (const double part : {0.13, 0.4, 0.66, 0.87}) {
      const double time = from + 0.01 * part;
      const auto row =
          static_cast<std::size_t>(std::upper_bound(times.begin(), times.end(), time) - times.begin()) - 1;
      double total = 0.0;
      for (const auto& series : plotted.strips.list()[stacked].series)
        total += std::max(
            0.0,
            trace.read(plotted.source.channels()[static_cast<std::size_t>(series.channel)].name, row, 1)[0]);
      const double main = trace.read("main_fuel_flow", row, 1)[0];
      const float x = plotted.strips.x_of(times[row]) +
                      0.4F * (plotted.strips.x_of(times[row + 1]) - plotted.strips.x_of(times[row]));
      double height = 0, of_main = 0;
      const sf::Color pure = color_of(Hue::main, dark_theme());
      for (float y = plot.y; y < plot.bottom(); ++y) {
        const sf::Color c = pixel(image, x, y);
        if (distance(c, dark_theme().panel) > 40 && distance(c, dark_theme().grid) > 40) ++height;
        if (distance(c, pure) < 20) ++of_main;
      }
      CAPTURE(from, part, total, per_unit);
      CHECK(std::abs(height - total * per_unit) <= 1.5);  // both ends are cut at whole pixels
      CHECK(std::abs(of_main - main * per_unit) <= 1.5);
    }
  }
}

TEST_CASE("strips: an envelope over blocks equals one over rows", "[viz][strips]") {
  TraceSource source(RunFiles::fixed_venturi());
  const int channel = source.find("manifold_pressure");
  Envelope blocks(channel), rows(channel);
  while (!blocks.advance(source, 640)) {
  }
  for (const auto& [first, end] :
       {std::pair<std::size_t, std::size_t>{0, source.end_row()}, {3, 2900}, {63, 65}, {640, 704}}) {
    const Spread a = blocks.over(source, first, end), b = rows.over(source, first, end);
    CHECK(a.least == b.least);
    CHECK(a.greatest == b.greatest);
    CHECK(a.count == b.count);
  }
}

}  // namespace glassbowl::viz
