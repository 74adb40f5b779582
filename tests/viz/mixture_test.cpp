#include "viz/plots/mixture.hpp"

#include <catch2/catch.hpp>

#include "sim/api/trace.hpp"
#include "tests/viz/pixels.hpp"
#include "tests/viz/run_files.hpp"
#include "viz/plots/strips.hpp"
#include "viz/source/trace_source.hpp"
#include "viz/view.hpp"

namespace glassbowl::viz {
namespace {

constexpr Box whole{0, 0, 1280, 720};

int of_color(const sf::Image& image, const Box& box, sf::Color color) {
  int count = 0;
  for (float y = box.y; y < box.bottom(); ++y)
    for (float x = box.x; x < box.right(); ++x) count += distance(pixel(image, x, y), color) < 40 ? 1 : 0;
  return count;
}

struct Watched {
  explicit Watched(const std::filesystem::path& file)
      : view(test_font(), std::make_unique<TraceSource>(file)) {}
  sf::Image at(double time) {
    view.playback.time = time;
    view.advance(0.0);
    return picture([&](Canvas& canvas) { view.draw(canvas, {1280, 720}, whole); });
  }
  View view;
};

}  // namespace

TEST_CASE("mixture: an engine without fuel raises an alarm that names cylinder, lambda and limit",
          "[viz][mixture]") {
  TraceSource source(RunFiles::starved());
  const Mixture mixture(source);
  // Recorded cycles, judged here again from the file.
  const sim::TraceReader trace(RunFiles::starved());
  const auto start = trace.read("cycle_start"), lambda = trace.read("cycle_cylinder_1_lambda"),
             ignited = trace.read("cycle_cylinder_1_ignited");
  int lean = 0, misfires = 0;
  for (std::size_t i = 2; i < start.size(); ++i) {
    const std::string said = mixture.alarm(start[i] + 1e-3);
    CAPTURE(i, lambda[i], ignited[i], said);
    if (ignited[i] < 0.5) {
      CHECK(said.find("Cylinder 1: misfire") != std::string::npos);
      ++misfires;
    } else if (lambda[i] > 0.96) {  // full throttle: the limit is 0.95
      CHECK(said.find("Cylinder 1: lambda " + lambda_text(lambda[i])) != std::string::npos);
      CHECK(said.find("lean limit 0.9") != std::string::npos);
      ++lean;
    }
  }
  CHECK(lean > 0);
  CHECK(misfires > 0);
  // The header shows it, in the colour that means danger and nothing else.
  Watched shown(RunFiles::starved());
  CHECK(of_color(shown.at(start.back() + 1e-3), {0, 0, 640, 22}, dark_theme().danger) > 1000);
}

TEST_CASE("mixture: an idling engine raises no alarm", "[viz][mixture]") {
  TraceSource source(RunFiles::idle());
  const Mixture mixture(source);
  for (double t = 0.0; t < 0.6; t += 0.02) CHECK(mixture.alarm(t).empty());
  Watched shown(RunFiles::idle());
  CHECK(of_color(shown.at(0.3), {0, 0, 640, 22}, dark_theme().danger) == 0);
}

TEST_CASE("mixture: the lean limit falls with the filling, as in all studies", "[viz][mixture]") {
  CHECK(sim::lean_limit_at(0.2) == Approx(1.20));
  CHECK(sim::lean_limit_at(0.9) == Approx(0.95));
  TraceSource source(RunFiles::fixed_venturi());
  double low = 9.0, high = 0.0;
  for (const auto& cycle : Mixture(source).between(0.0, 0.6)) {
    low = std::min(low, cycle.limit);
    high = std::max(high, cycle.limit);
    for (const auto& c : cycle.cylinders) CHECK((c.filling > 0.02 && c.filling < 1.1));
  }
  CHECK(high - low > 0.1);  // the throttle opens and closes
}

TEST_CASE("strips: lambda has a fixed axis, and what lies beyond is marked at its edge with its value",
          "[viz][strips][mixture]") {
  TraceSource source(RunFiles::starved());
  const Signals signals(source);
  Strips strips(source, signals, test_font());
  const Instant now(source, source.last_time());
  const sf::Image image = picture([&](Canvas& canvas) {
    strips.draw(canvas, {0, 100, 1280, 560}, dark_theme(), now);
  });
  const Box plot = strips.plot(0);
  CHECK(strips.y_of(0, 1.4) == Approx(plot.y).margin(0.5));
  CHECK(strips.y_of(0, 0.6) == Approx(plot.bottom()).margin(0.5));
  REQUIRE(now[signals.trapped_lambda[0]] > 1.5);
  // Along the upper edge, right of the first sixth: marks and values in the colour of lines.
  CHECK(of_color(image, {plot.x + plot.w / 3, plot.y, 2 * plot.w / 3, 14}, dark_theme().text) > 20);
  CHECK(of_color(image, {plot.x, plot.bottom() - 20, plot.w, 18}, dark_theme().danger) > 30);  // misfires
  CHECK(lambda_text(12234.5) == "no fuel");
  CHECK(lambda_text(2.574) == "2.57");
}

TEST_CASE("view: the band shows each circuit's share of the present cycle", "[viz][legend]") {
  const auto& file = RunFiles::fixed_venturi();
  TraceSource source(file);
  const Signals signals(source);
  const sim::TraceReader trace(file);
  const auto start = trace.read("cycle_start"), main = trace.read("cycle_main_fuel_flow"),
             all = trace.read("cycle_fuel_flow");
  const Box box{0, 40, 1280, 26};
  for (std::size_t i = 1; i < start.size(); ++i) {
    const Instant now(source, start[i] + 1e-3);
    const sf::Image image = picture([&](Canvas& canvas) {
      draw_share_band(canvas, box, dark_theme(), {signals, now});
    });
    int of_main = 0;
    for (unsigned x = 1; x < 1279; ++x) {  // a row above the names
      const sf::Color over = mixed(dark_theme().panel, color_of(Hue::main, dark_theme()), 0.62F);
      const sf::Color c = image.getPixel(x, 41);
      of_main += distance(c, color_of(Hue::main, dark_theme())) < 40 || distance(c, over) < 40 ? 1 : 0;
    }
    CAPTURE(i, main[i], all[i]);
    CHECK(of_main / 1280.0 == Approx(main[i] / all[i]).margin(0.01));
  }
}

TEST_CASE("view: flows in the legend are means of the cycle, not what passes at that moment",
          "[viz][legend]") {
  // In a pulsing flow the present value falls to nothing, the mean does not.
  TraceSource source(RunFiles::fixed_venturi());
  const Signals signals(source);
  double least = 1.0, mean = 0.0;
  double when = 0.0;
  for (double t = 0.25; t < 0.39; t += 5e-4)
    if (const double flow = Instant(source, t)[signals.main_flow]; flow < least) least = flow, when = t;
  mean = Instant(source, when).cycle(signals.cycle_main);
  CHECK(mean > 3.0 * std::max(0.0, least));
  CHECK(mean > 3e-4);
}

TEST_CASE("view: above a tenth of real time the drawing stands at one crank angle", "[viz][view]") {
  Watched shown(RunFiles::fixed_venturi());
  auto& view = shown.view;
  view.moving = true;
  const auto valve = [&](double t) {
    const sf::Image image = shown.at(t);
    std::vector<sf::Color> column;
    const auto& stage = view.first().cutaway.engine_stage();
    const auto& plan = view.first().cutaway.engine_plan();
    const float x = stage.at(plan.intake_x[0], 0).x;
    for (float y = stage.at(0, plan.head + 5e-3).y; y < stage.at(0, plan.head - plan.clearance - 0.03).y; ++y)
      column.push_back(pixel(image, x, y));
    return column;
  };
  // At 2,500 rpm a cycle takes 48 ms; these times lie at different angles.
  view.look.marks = false;
  view.playback.set_rate(0.05);
  CHECK(valve(0.300) != valve(0.316));
  view.playback.set_rate(1.0);
  const auto piston_moves = [](const std::vector<sf::Color>& a, const std::vector<sf::Color>& b) {
    int apart = 0;
    for (std::size_t i = 0; i < std::min(a.size(), b.size()); ++i)
      apart += distance(a[i], b[i]) > 150 ? 1 : 0;
    return apart;
  };
  CHECK(piston_moves(valve(0.300), valve(0.316)) <= 2);
  CHECK(piston_moves(valve(0.300), valve(0.360)) <= 2);
}

TEST_CASE("view: two runs have the same time, or the same crank angle", "[viz][view]") {
  View view(test_font(), std::make_unique<TraceSource>(RunFiles::idle()),
            std::make_unique<TraceSource>(RunFiles::fixed_venturi()));
  view.playback.time = 0.3;
  CHECK(view.second_time() == 0.3);
  view.align_crank = true;
  const double a = Instant(*view.first().source, 0.3)[view.first().signals.crank_angle],
               b = Instant(*view.second()->source, view.second_time())[view.second()->signals.crank_angle];
  CHECK(std::abs(std::remainder(a - b, 4.0 * 3.14159265358979)) < 1e-3);
}

}  // namespace glassbowl::viz
