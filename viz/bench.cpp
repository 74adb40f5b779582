#include <fmt/format.h>
#include <SFML/Graphics/RenderWindow.hpp>

#include <chrono>
#include <cstdio>
#include <cstdlib>
#include <ctime>

#include "sim/api/error.hpp"
#include "viz/display.hpp"
#include "viz/look/typeface.hpp"
#include "viz/pacing.hpp"
#include "viz/source/trace_source.hpp"
#include "viz/view.hpp"

namespace {

using namespace glassbowl;
using Clock = std::chrono::steady_clock;

int bench(const char* trace, int pictures, unsigned width, unsigned height) {
  viz::require_display();
  viz::Typeface face;
  viz::load_typeface(face, {});
  sf::RenderWindow window(sf::VideoMode(width, height), "glassbowl-view-bench", sf::Style::None);
  viz::View view(face.font, std::make_unique<viz::TraceSource>(trace));
  viz::Canvas canvas(face.font);
  viz::FrameTimes times;
  view.playback.playing = true;
  view.playback.set_rate(1.0 / 20.0);
  const std::clock_t before = std::clock();
  for (int i = 0; i < pictures; ++i) {
    const auto begin = Clock::now();
    view.advance(1.0 / 60.0);
    if (!view.playback.playing) {
      view.playback.time = view.first().source->first_time();
      view.playback.playing = true;
    }
    const viz::Point size(static_cast<float>(width), static_cast<float>(height));
    view.draw(canvas, size, {0, 0, size.x, size.y});
    window.clear();
    canvas.draw_to(window);
    window.display();
    if (i >= 5) times.add(std::chrono::duration<double>(Clock::now() - begin).count());  // after warming up
  }
  fmt::print("{} pictures of {} x {}, {} vertices in the last\n", times.count(), width, height,
             canvas.vertices());
  for (const double share : {0.5, 0.9, 0.95, 0.99, 1.0})
    fmt::print("  {:5.1f} % within {:6.2f} ms\n", share * 100.0, times.percentile(share) * 1e3);
  fmt::print("  processor time of all threads: {:.2f} ms a picture\n",
             1e3 * static_cast<double>(std::clock() - before) / CLOCKS_PER_SEC / pictures);
  fmt::print("  60 pictures a second need 16.67 ms each\n");
  return 0;
}

}  // namespace

int main(int count, char** arguments) try {
  if (count < 2) {
    std::fprintf(stderr, "usage: glassbowl-view-bench TRACE.h5 [PICTURES [WIDTH HEIGHT]]\n");
    return 2;
  }
  return bench(arguments[1], count > 2 ? std::atoi(arguments[2]) : 600,
               count > 4 ? static_cast<unsigned>(std::atoi(arguments[3])) : 1280,
               count > 4 ? static_cast<unsigned>(std::atoi(arguments[4])) : 720);
} catch (const std::exception& error) {
  std::fprintf(stderr, "glassbowl-view-bench: %s\n", error.what());
  return 1;
}
