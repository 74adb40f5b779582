#include <catch2/catch.hpp>

#include "sim/api/trace.hpp"
#include "tests/viz/pixels.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/cutaway/cutaway.hpp"
#include "viz/look/palette.hpp"
#include "viz/source/trace_source.hpp"

namespace glassbowl::viz {
namespace {

constexpr double one_pixel = 1.0;
constexpr Box whole{0, 0, 1280, 720};

/// The value of a channel at a time, read from the file without the viewer.
double recorded(const std::filesystem::path& file, const std::string& channel, double time) {
  const sim::TraceReader trace(file);
  const auto times = trace.read("time"), values = trace.read(channel);
  const auto after =
      static_cast<std::size_t>(std::upper_bound(times.begin(), times.end(), time) - times.begin());
  const double share = (time - times[after - 1]) / (times[after] - times[after - 1]);
  return values[after - 1] + share * (values[after] - values[after - 1]);
}

/// Middle of the run of pixels in a column that have about this colour; -1 if there are none.
double middle_of(const sf::Image& image, float x, float from, float to, sf::Color color, int within) {
  double sum = 0.0, count = 0.0;
  for (float y = from; y < to; y += 1.0F) {
    if (distance(pixel(image, x, y), color) > within) continue;
    sum += static_cast<double>(std::floor(y)) + 0.5;
    count += 1.0;
  }
  return count > 0.0 ? sum / count : -1.0;
}

/// First row from `from` toward `to` with this colour.
double edge_of(const sf::Image& image, float x, float from, float to, sf::Color color, int within) {
  const float step = to > from ? 1.0F : -1.0F;
  for (float y = from; step > 0 ? y < to : y > to; y += step)
    if (distance(pixel(image, x, y), color) <= within)
      return static_cast<double>(std::floor(y)) + (step > 0 ? 0.0 : 1.0);
  return -1.0;
}

struct Drawing {
  explicit Drawing(const std::filesystem::path& file)
      : source(file), signals(source), cutaway(source, signals) {}

  sf::Image at(double time) {
    Cutaway::Look look;
    look.labels = look.loupe = look.marks = false;
    // Only parts, no marks: air must not hide an edge.
    cutaway.advance(time);
    return picture([&](Canvas& canvas) {
      canvas.rect(whole, dark_theme().background);
      cutaway.draw(canvas, whole, dark_theme(), time, look);
    });
  }

  TraceSource source;
  Signals signals;
  Cutaway cutaway;
};

}  // namespace

TEST_CASE("cutaway: fuel in the bowl is drawn at its computed level", "[viz][cutaway][bowl]") {
  for (const auto& file : {RunFiles::fixed_venturi(), RunFiles::vacuum_piston()}) {
    Drawing drawing(file);
    for (const double time : random_times(8, 0.0, 0.59)) {
      const sf::Image image = drawing.at(time);
      const auto& plan = drawing.cutaway.plan();
      const auto& stage = drawing.cutaway.carburetor_stage();
      const float x = stage.at(plan.bowl_left + 4.6e-3, 0).x;
      const float top = stage.at(0, plan.bowl_top).y, floor = stage.at(0, plan.bowl_floor).y;
      const double line = middle_of(image, x, top + 2, floor - 2, dark_theme().text, 160);
      // The floor is seen where fuel ends on metal, so the height does not rest on the stage's own origin.
      const double ground = edge_of(image, x, floor - 6, floor + 6, dark_theme().metal, 30);
      CAPTURE(file, time);
      REQUIRE(ground > 0.0);
      const double height =
          (recorded(file, "bowl_level", time) + drawing.source.geometry().bowl_depth) * stage.pixels_per_m;
      CHECK(std::abs((ground - line) - height) <= one_pixel);
    }
  }
}

TEST_CASE("cutaway: fuel in the main well is drawn at its computed level", "[viz][cutaway][well]") {
  for (const auto& file : {RunFiles::fixed_venturi(), RunFiles::vacuum_piston()}) {
    Drawing drawing(file);
    double lowest = 1e9, highest = -1e9;
    for (const double time : random_times(8, 0.0, 0.59)) {
      const sf::Image image = drawing.at(time);
      const auto& plan = drawing.cutaway.plan();
      const auto& stage = drawing.cutaway.carburetor_stage();
      const float x = stage.at(0.5 * (plan.well_left + plan.well_right), 0).x;
      const double line = middle_of(image, x, stage.at(0, plan.well_top).y + 1, stage.at(0, plan.foot).y - 1,
                                    dark_theme().text, 160);
      const double level = recorded(file, "well_level", time);
      lowest = std::min(lowest, level);
      highest = std::max(highest, level);
      CAPTURE(file, time, level);
      CHECK(std::abs(line - static_cast<double>(stage.at(0, level).y)) <= one_pixel);
    }
    CHECK(highest - lowest > 1e-3);  // else nothing was shown to move
  }
}

TEST_CASE("cutaway: the vacuum piston is drawn at its computed lift", "[viz][cutaway][vacuum_piston]") {
  const auto& file = RunFiles::vacuum_piston();
  Drawing drawing(file);
  double lowest = 1e9, highest = -1e9;
  for (const double time : random_times(12, 0.0, 0.59)) {
    const sf::Image image = drawing.at(time);
    const auto& plan = drawing.cutaway.plan();
    const auto& stage = drawing.cutaway.carburetor_stage();
    const float x = stage.at(plan.throat_x - 0.9 * plan.throat_half, 0).x;
    const double lift = recorded(file, "piston_lift", time);
    lowest = std::min(lowest, lift);
    highest = std::max(highest, lift);
    const double bottom = edge_of(image, x, stage.at(0, plan.floor).y - 3, stage.at(0, plan.roof).y,
                                  dark_theme().metal_edge, 12);
    const double expected =
        static_cast<double>(stage.at(0, plan.floor + drawing.source.geometry().piston_rest_gap + lift).y);
    CAPTURE(time, lift);
    CHECK(std::abs(bottom - expected) <= one_pixel);
  }
  CHECK(highest - lowest > 5e-3);
}

TEST_CASE("cutaway: the needle stays within its bore, whose floor nothing crosses",
          "[viz][cutaway][vacuum_piston]") {
  Drawing drawing(RunFiles::vacuum_piston());
  const sf::Image image = drawing.at(0.02);  // piston down
  const auto& plan = drawing.cutaway.plan();
  const auto& stage = drawing.cutaway.carburetor_stage();
  const auto& g = drawing.source.geometry();
  const double tip = plan.floor - g.needle.x.back() + g.needle_raised;
  CHECK(plan.needle_foot < tip);
  const auto column = [&](double from, double to) {  // of the needle's colour below a height
    int found = 0;
    const float x = stage.at(plan.throat_x, 0).x;
    for (float y = stage.at(0, to).y; y < stage.at(0, from).y; y += 1.0F)
      found += distance(pixel(image, x, y), dark_theme().text) < 40 ? 1 : 0;
    return found;
  };
  CHECK(column(plan.needle_foot, plan.floor) > 50);
  CHECK(column(plan.bottom, plan.needle_foot) == 0);
  // From the tip down to the bore's floor there is main fuel, not a passage of another circuit.
  for (double y = plan.needle_foot + 0.3e-3; y < tip - 0.3e-3; y += 0.2e-3) {
    const Point at = stage.at(plan.throat_x + 0.25 * g.riser_diameter, y);
    CHECK(distance(pixel(image, at.x, at.y), color_of(Hue::main, dark_theme())) < 120);
  }
}

TEST_CASE("cutaway: the throttle plate is drawn at its computed angle", "[viz][cutaway][throttle_plate]") {
  for (const auto& file : {RunFiles::fixed_venturi(), RunFiles::vacuum_piston()}) {
    Drawing drawing(file);
    for (const double time : random_times(8, 0.0, 0.59)) {
      const sf::Image image = drawing.at(time);
      const auto& plan = drawing.cutaway.plan();
      const auto& g = drawing.source.geometry();
      const auto& stage = drawing.cutaway.carburetor_stage();
      const double half = stage.length(0.5 * g.bore), shaft = stage.length(0.6 * g.shaft);
      const Point middle = stage.at(0, plan.axis);
      // Principal direction of the plate's pixels.
      double xx = 0, xy = 0, yy = 0, count = 0;
      for (double dy = -half + 2; dy < half - 2; ++dy)
        for (double dx = -half; dx < half; ++dx) {
          if (std::hypot(dx, dy) < shaft || std::hypot(dx, dy) > half - 2) continue;
          const auto px = middle.x + static_cast<float>(dx), py = middle.y + static_cast<float>(dy);
          if (distance(pixel(image, px, py), dark_theme().text) > 12) continue;
          const double x = std::floor(static_cast<double>(px)) + 0.5 - static_cast<double>(middle.x);
          const double y = static_cast<double>(middle.y) - std::floor(static_cast<double>(py)) - 0.5;
          xx += x * x, xy += x * y, yy += y * y, ++count;
        }
      CAPTURE(file, time);
      REQUIRE(count > 50);
      const double along = 0.5 * std::atan2(2 * xy, xx - yy);  // from the bore's axis
      double from_square = 0.5 * 3.14159265358979 - along;
      if (from_square > 1.6) from_square -= 3.14159265358979;
      const double off_at_edge = std::abs(from_square - recorded(file, "plate_angle", time)) * half;
      CHECK(off_at_edge <= one_pixel);
    }
  }
}

}  // namespace glassbowl::viz
