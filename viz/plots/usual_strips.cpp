#include <algorithm>

#include "viz/plots/strips.hpp"

namespace glassbowl::viz {
namespace {

void keep(Strip strip, std::vector<Strip>& out) {
  std::erase_if(strip.series, [](const Series& s) { return s.channel == no_channel; });
  if (!strip.series.empty()) out.push_back(std::move(strip));
}

}  // namespace

std::vector<Strip> usual_strips(const Source& source, const Signals& s) {
  std::vector<Strip> out;
  Strip lambda{.name = "λ", .unit = "1", .series = {}, .mark = 1.0, .mixture = true};
  lambda.series.push_back({source.find_cycle("cycle_lambda"), true, "carburetor", Hue::air, Dash::dots});
  for (std::size_t k = 0; k < s.trapped_lambda.size(); ++k)
    lambda.series.push_back(
        {s.trapped_lambda[k], false, "cylinder " + std::to_string(k + 1), Hue::count, dash_of(k)});
  keep(lambda, out);

  Strip fuel{.name = "Fuel by circuit", .unit = "kg/s", .series = {}, .stacked = true, .from_zero = true};
  fuel.series.push_back({s.idle_flow, false, "idle", Hue::idle});
  for (std::size_t i = 0; i < s.port_flow.size(); ++i)
    fuel.series.push_back({s.port_flow[i], false, "port " + std::to_string(i + 1), Hue::transfer});
  fuel.series.push_back({s.main_flow, false, "main", Hue::main});
  fuel.series.push_back({s.pump_flow, false, "pump", Hue::pump});
  fuel.series.push_back({s.enrichment_flow, false, "enrichment", Hue::enrichment});
  keep(fuel, out);

  const auto single = [](const char* name, const char* unit, int channel) {
    return Strip{
        .name = name, .unit = unit, .series = {{channel, false, name, Hue::count}}, .from_zero = true};
  };
  Strip throttle = single("Throttle", "1", s.throttle);
  throttle.shown = Shown{100.0, 0.0, "%"};
  keep(throttle, out);
  keep(single("Speed", "rad/s", s.speed), out);
  keep(single("Manifold", "Pa", s.manifold_pressure), out);
  if (source.geometry().vacuum_piston) keep(single("Piston lift", "m", s.piston_lift), out);
  keep({.name = "Levels",
        .unit = "m",
        .series = {{s.bowl_level, false, "bowl", Hue::fuel}, {s.well_level, false, "well", Hue::main}}},
       out);
  return out;
}

Strip strip_of(const Source& source, int channel, bool per_cycle) {
  const auto& c =
      (per_cycle ? source.cycle_channels() : source.channels())[static_cast<std::size_t>(channel)];
  std::string name = c.name;
  std::replace(name.begin(), name.end(), '_', ' ');
  Strip strip{.name = name, .unit = c.unit, .series = {{channel, per_cycle, name, Hue::count}}};
  if (c.name == "altitude") strip.shown = Shown{1.0, 0.0, "m"};  // other lengths are those of parts
  return strip;
}

}  // namespace glassbowl::viz
