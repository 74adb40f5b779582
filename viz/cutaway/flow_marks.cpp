#include "viz/cutaway/flow_marks.hpp"

#include <algorithm>
#include <cmath>

namespace glassbowl::viz {
namespace {

constexpr double pi = 3.14159265358979323846;
constexpr double g0 = 9.80665;
constexpr double air_constant = 287.05;
constexpr double body_temperature = 303.0;  // only for the density of bleed air

double circle(double diameter) {
  return 0.25 * pi * diameter * diameter;
}

}  // namespace

double stream_speed(Stream stream, const Signals& s, const Instant& now) {
  const auto& g = now.source().geometry();
  const auto of = [&](int channel) {
    const double v = now[channel];
    return std::isfinite(v) ? v : 0.0;
  };
  const double rho = std::max(1.0, g.fuel_density);
  const double rho_air = of(s.inlet_pressure) / (air_constant * body_temperature);
  const double riser = circle(g.riser_diameter);
  const double slow = circle(std::max(g.slow.passage_diameter, 1e-4));
  switch (stream) {
    case Stream::feed:
      return of(s.feed_flow) / (rho * circle(std::max(g.seat_bore, 1e-4)));
    case Stream::main_jet:
      return of(s.main_jet_flow) / (rho * circle(g.main_jet.bore));
    case Stream::riser:
      return of(s.riser_flow) / (rho * riser * std::max(0.15, 1.0 - of(s.void_fraction)));
    case Stream::bubbles: {
      if (rho_air <= 0.0) return 0.0;
      const double j = of(s.riser_flow) / (rho * riser) + of(s.bleed_air) / (rho_air * riser);
      return of(s.void_fraction) > 0.0 ? 1.2 * j + 0.35 * std::sqrt(g0 * g.riser_diameter) : 0.0;
    }
    case Stream::main_air:
      return rho_air > 0.0 ? of(s.bleed_air) / (rho_air * circle(g.main_air_jet.bore)) : 0.0;
    case Stream::slow_jet:
      return of(s.slow_jet_flow) / (rho * slow);
    case Stream::slow_air:
      return rho_air > 0.0 ? of(s.slow_air) / (rho_air * circle(g.slow.air_jet.bore)) : 0.0;
    case Stream::slow_channel:
    case Stream::idle: {
      double fuel = of(s.idle_flow), air = of(s.idle_air);
      if (stream == Stream::slow_channel)
        for (std::size_t i = 0; i < s.port_flow.size(); ++i) {
          fuel += of(s.port_flow[i]);
          air += of(s.port_air[i]);
        }
      return rho_air > 0.0 ? (fuel / rho + air / rho_air) / slow : 0.0;
    }
    case Stream::pump_inlet:
      return of(s.pump_inlet) / (rho * std::max(g.pump_inlet_area, 1e-7));
    case Stream::pump_outlet:
      return of(s.pump_flow) / (rho * circle(std::max(g.pump_nozzle.bore, 1e-4)));
    case Stream::enrichment:
      return of(s.enrichment_jet_flow) / (rho * circle(std::max(g.enrichment.passage_diameter, 1e-4)));
    default:
      return 0.0;
  }
}

void FlowMarks::advance(const Signals& signals, const Instant& now, double dt) {
  step_ = dt;
  for (std::size_t i = 0; i < distance_.size(); ++i) {
    speed_[i] = stream_speed(static_cast<Stream>(i), signals, now);
    distance_[i] += speed_[i] * dt;
  }
}

void draw_marks(Canvas& canvas, std::span<const Point> path, double travelled, double step, sf::Color color,
                float size) {
  const double spacing = 14.0 * static_cast<double>(canvas.scale());
  if (std::abs(step) > 0.5 * spacing) return canvas.polyline(path, faded(color, 0.8F), size);
  double along = std::fmod(travelled, spacing);
  if (along < 0) along += spacing;
  const double mark = 0.45 * spacing;
  double before = 0.0;  // length of the path up to this piece
  for (std::size_t i = 1; i < path.size(); ++i) {
    const Point d = path[i] - path[i - 1];
    const double length = std::hypot(static_cast<double>(d.x), static_cast<double>(d.y));
    if (length <= 0.0) continue;
    const double first = std::ceil((before - along - mark) / spacing);
    for (double k = first; along + k * spacing < before + length; ++k) {
      const double a = std::max(0.0, along + k * spacing - before);
      const double b = std::min(length, along + k * spacing + mark - before);
      if (b <= a) continue;
      canvas.line(path[i - 1] + d * static_cast<float>(a / length),
                  path[i - 1] + d * static_cast<float>(b / length), color, size);
    }
    before += length;
  }
}

}  // namespace glassbowl::viz
