#pragma once
#include <array>
#include <span>

#include "viz/look/canvas.hpp"
#include "viz/source/signals.hpp"

namespace glassbowl::viz {

/// Streams of liquid or air in the carburetor's passages.
enum class Stream {
  feed,
  main_jet,
  riser,
  bubbles,
  main_air,
  slow_jet,
  slow_channel,
  slow_air,
  idle,
  pump_inlet,
  pump_outlet,
  enrichment,
  count
};

/// How far each stream has come [m]: its speed, flow over density and section, summed over simulated time.
/// Marks drawn at that distance move exactly as fast as what they stand for.
class FlowMarks {
 public:
  void advance(const Signals& signals, const Instant& now, double dt);
  double distance(Stream stream) const { return distance_[static_cast<std::size_t>(stream)]; }
  double speed(Stream stream) const { return speed_[static_cast<std::size_t>(stream)]; }  ///< [m/s]
  double step() const { return step_; }  ///< [s] last simulated step

 private:
  std::array<double, static_cast<std::size_t>(Stream::count)> distance_{}, speed_{};
  double step_ = 0.0;
};

/// Speed of each stream [m/s] at an instant.
double stream_speed(Stream stream, const Signals& signals, const Instant& now);

/// Draws marks along a path in pixels, `spacing` apart. A stream that moves more than half a spacing per
/// picture is drawn as a steady line: marks would seem to run backward.
void draw_marks(Canvas& canvas, std::span<const Point> path, double travelled_px, double step_px,
                sf::Color color, float size);

}  // namespace glassbowl::viz
