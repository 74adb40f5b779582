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
  Strip lambda{"λ",   "1",   {{source.find_cycle("cycle_lambda"), true, "carburetor", Hue::count}},
               false, false, {{0.5, 1.8}},
               {}};
  for (std::size_t k = 0; k < s.trapped_lambda.size(); ++k)
    lambda.series.push_back({s.trapped_lambda[k], false, "cylinder " + std::to_string(k + 1), Hue::count});
  keep(lambda, out);

  Strip fuel{"Fuel by circuit", "kg/s", {{s.idle_flow, false, "idle", Hue::idle}}, true, true, {}, {}};
  for (std::size_t i = 0; i < s.port_flow.size(); ++i)
    fuel.series.push_back({s.port_flow[i], false, "port " + std::to_string(i + 1), Hue::transfer});
  fuel.series.push_back({s.main_flow, false, "main", Hue::main});
  fuel.series.push_back({s.pump_flow, false, "pump", Hue::pump});
  fuel.series.push_back({s.enrichment_flow, false, "enrichment", Hue::enrichment});
  keep(fuel, out);

  keep({"Throttle",
        "1",
        {{s.throttle, false, "throttle", Hue::count}},
        false,
        true,
        {},
        Shown{100.0, 0.0, "%"}},
       out);
  keep({"Speed", "rad/s", {{s.speed, false, "crank", Hue::count}}, false, true, {}, {}}, out);
  keep({"Manifold", "Pa", {{s.manifold_pressure, false, "manifold", Hue::count}}, false, true, {}, {}}, out);
  if (source.geometry().vacuum_piston)
    keep({"Piston lift", "m", {{s.piston_lift, false, "lift", Hue::count}}, false, true, {}, {}}, out);
  keep({"Levels",
        "m",
        {{s.bowl_level, false, "bowl", Hue::count}, {s.well_level, false, "well", Hue::main}},
        false,
        false,
        {},
        {}},
       out);
  return out;
}

Strip strip_of(const Source& source, int channel, bool per_cycle) {
  const auto& c =
      (per_cycle ? source.cycle_channels() : source.channels())[static_cast<std::size_t>(channel)];
  std::string name = c.name;
  std::replace(name.begin(), name.end(), '_', ' ');
  return {name, c.unit, {{channel, per_cycle, name, Hue::count}}, false, false, {}, {}};
}

}  // namespace glassbowl::viz
