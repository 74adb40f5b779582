#include <algorithm>
#include <array>
#include <cmath>

#include "viz/cutaway/drawings.hpp"

namespace glassbowl::viz {
namespace {

constexpr double pi = 3.14159265358979323846;

}  // namespace

void draw_slow_circuit(const Scene& s, const CarburetorPlan& plan) {
  const auto& g = s.geometry;
  const double half = std::max(plan.slow_half, 0.6e-3);
  const double channel = plan.slow_channel;
  const double last_port = g.ports.empty() ? 0.0 : -g.ports.back().position;
  const double channel_left = std::min(plan.slow_x, last_port - 3e-3);

  // Air passage from the inlet, behind well and riser.
  const double air_half = std::max(0.6e-3, 0.5 * g.slow.air_jet.bore);
  const double mouth = plan.lower_wall(plan.slow_air_x);
  s.passage(plan.slow_air_x - air_half, channel - air_half, plan.slow_air_x + air_half, mouth);
  s.passage(plan.slow_air_x - air_half, channel - air_half, channel_left, channel + air_half);
  const sf::Color inlet = s.pressure(s.signals.inlet_pressure);
  s.canvas.rect(
      s.stage.area(plan.slow_air_x - air_half, channel - air_half, plan.slow_air_x + air_half, mouth + 5e-4),
      inlet);
  s.canvas.rect(
      s.stage.area(plan.slow_air_x - air_half, channel - air_half, channel_left, channel + air_half), inlet);

  // Fuel: from the well's foot or, by a passage of its own, from the bowl; jet at the foot of the rise.
  const double feed_y = g.slow_from_well ? plan.foot + 1e-3 : plan.foot - 5e-3;
  const double feed_from = g.slow_from_well ? plan.riser_right : plan.bowl_right;
  s.passage(feed_from, feed_y - half, plan.slow_x + half, feed_y + half);
  s.fuel(feed_from, feed_y - half, plan.slow_x + half, feed_y + half, Hue::idle);
  s.passage(plan.slow_x - half, feed_y - half, plan.slow_x + half, channel);
  const double section = 0.25 * pi * g.slow.passage_diameter * g.slow.passage_diameter;
  // The rise is as full as its state says; its true height is the channel's above the jet.
  const double full = g.fuel_density * section * (g.slow.height - plan.foot);
  const double share = std::clamp(s.value(s.signals.slow_riser) / std::max(1e-12, full), 0.0, 1.0);
  s.fuel(plan.slow_x - half, feed_y, plan.slow_x + half, feed_y + share * (channel - feed_y), Hue::idle);

  // Channel, as full of liquid as its state says.
  s.passage(channel_left, channel - half, plan.idle_x + half, channel + half);
  const double liquid = std::clamp(
      s.value(s.signals.slow_channel_fuel) / std::max(1e-12, g.fuel_density * g.slow.volume), 0.0, 1.0);
  s.fuel(channel_left, channel - half, plan.idle_x + half, channel - half + 2 * half * std::max(liquid, 0.0),
         Hue::idle);

  // Outlets: ports by place and size, idle outlet behind the plate.
  for (std::size_t i = 0; i < g.ports.size(); ++i) {
    const double x = -g.ports[i].position, r = 0.5 * g.ports[i].diameter;
    s.canvas.rect(s.stage.area(x - r, channel + half, x + r, plan.floor), s.theme.background);
    const double flow = i < s.signals.port_flow.size() ? s.value(s.signals.port_flow[i]) : 0.0;
    if (flow > 1e-8) s.fuel(x - r, channel + half, x + r, plan.floor, Hue::transfer);
    s.hits.add(Part::transfer_port, s.stage.area(x - r, channel + half, x + r, plan.floor + 1e-3), i);
  }
  const double outlet = 0.5 * g.screw_seat_bore;
  s.canvas.rect(s.stage.area(plan.idle_x - outlet, channel + half, plan.idle_x + outlet, plan.floor),
                s.theme.background);
  if (s.value(s.signals.idle_flow) > 1e-9)
    s.fuel(plan.idle_x - outlet, channel + half, plan.idle_x + outlet, plan.floor, Hue::idle);

  // Mixture screw: its tip stands back from the seat by turns times pitch.
  const double back = g.screw_turns * g.screw_pitch;
  const double tip = channel + half - back;
  const std::array<Point, 3> cone{s.stage.at(plan.idle_x, tip), s.stage.at(plan.idle_x + 1.3e-3, tip - 5e-3),
                                  s.stage.at(plan.idle_x - 1.3e-3, tip - 5e-3)};
  s.canvas.polygon(cone, s.theme.metal_edge);
  s.canvas.rect(s.stage.area(plan.idle_x - 1.3e-3, tip - 11e-3, plan.idle_x + 1.3e-3, tip - 5e-3),
                s.theme.metal_edge);

  const double px = s.stage.pixels_per_m;
  const auto marks = [&](Stream stream, std::span<const Point> path, sf::Color color) {
    const double speed = s.marks.speed(stream);
    if (std::abs(speed) > 1e-6)
      draw_marks(s.canvas, path, s.marks.distance(stream) * px, speed * s.marks.step() * px, color, 1.4F);
  };
  const sf::Color dark = s.theme.dark ? s.theme.background : s.theme.text;
  marks(Stream::slow_jet,
        std::array{s.stage.at(feed_from, feed_y), s.stage.at(plan.slow_x, feed_y),
                   s.stage.at(plan.slow_x, channel)},
        dark);
  marks(Stream::slow_air,
        std::array{s.stage.at(plan.slow_air_x, mouth), s.stage.at(plan.slow_air_x, channel),
                   s.stage.at(channel_left, channel)},
        s.theme.text);
  marks(Stream::slow_channel,
        std::array{s.stage.at(plan.slow_x, channel), s.stage.at(std::max(plan.slow_x, last_port), channel)},
        s.theme.text);
  marks(Stream::idle,
        std::array{s.stage.at(std::max(plan.slow_x, last_port), channel), s.stage.at(plan.idle_x, channel),
                   s.stage.at(plan.idle_x, plan.floor)},
        s.theme.text);
  s.jet(plan.slow_x, feed_y + 3e-3, half, g.slow.jet, true);
  s.jet(plan.slow_air_x + 6e-3, channel, air_half + 0.3e-3, g.slow.air_jet, false);

  s.hits.add(Part::slow_jet,
             s.stage.area(plan.slow_x - half, feed_y + 1e-3, plan.slow_x + half, feed_y + 5e-3));
  s.hits.add(Part::slow_air_jet, s.stage.area(plan.slow_air_x + 4e-3, channel - air_half,
                                              plan.slow_air_x + 8e-3, channel + air_half));
  s.hits.add(Part::slow_channel, s.stage.area(channel_left, channel - half, plan.idle_x, channel + half));
  s.hits.add(Part::mixture_screw, s.stage.area(plan.idle_x - 1.3e-3, tip - 11e-3, plan.idle_x + 1.3e-3, tip));
  s.hits.add(Part::idle_outlet,
             s.stage.area(plan.idle_x - outlet, channel + half, plan.idle_x + outlet, plan.floor + 1e-3));
}

}  // namespace glassbowl::viz
