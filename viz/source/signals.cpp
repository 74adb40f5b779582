#include "viz/source/signals.hpp"

#include <cmath>
#include <string>

namespace glassbowl::viz {
namespace {

std::string numbered(const std::string& name, std::size_t k) {
  return name + "_" + std::to_string(k + 1);
}

Signals::Volume volume(const Source& s, const std::string& name) {
  return {s.find(name + "_air"),    s.find(name + "_vapour"),   s.find(name + "_droplets"),
          s.find(name + "_burned"), s.find(name + "_pressure"), s.find(name + "_temperature")};
}

}  // namespace

Signals::Signals(const Source& s)
    : crank_angle(s.find("crank_angle")),
      speed(s.find("speed")),
      throttle(s.find("throttle")),
      choke(s.find("choke")),
      tap(s.find("tap")),
      altitude(s.find("altitude")),
      ambient_pressure(s.find("ambient_pressure")),
      plate_angle(s.find("plate_angle")),
      plate_area(s.find("plate_area")),
      lambda(s.find("lambda")),
      airbox_pressure(s.find("airbox_pressure")),
      inlet_pressure(s.find("inlet_pressure")),
      throat_pressure(s.find("throat_pressure")),
      nozzle_pressure(s.find("nozzle_pressure")),
      mixing_pressure(s.find("mixing_pressure")),
      manifold_pressure(s.find("manifold_pressure")),
      filter_flow(s.find("filter_flow")),
      bore_flow(s.find("bore_flow")),
      plate_flow(s.find("plate_flow")),
      throat_area(s.find("throat_area")),
      piston_lift(s.find("piston_lift")),
      chamber_pressure(s.find("piston_chamber_pressure")),
      depression(s.find("depression")),
      needle_area(s.find("needle_area")),
      bowl_level(s.find("bowl_level")),
      feed_flow(s.find("feed_flow")),
      overflow_flow(s.find("overflow_flow")),
      main_flow(s.find("main_fuel_flow")),
      main_jet_flow(s.find("main_jet_flow")),
      riser_flow(s.find("main_riser_flow")),
      riser_fuel(s.find("main_riser_fuel")),
      bleed_air(s.find("main_bleed_air")),
      well_level(s.find("well_level")),
      void_fraction(s.find("riser_void_fraction")),
      uncovered(s.find("uncovered_holes")),
      idle_flow(s.find("idle_fuel_flow")),
      idle_air(s.find("idle_air_flow")),
      slow_jet_flow(s.find("slow_jet_flow")),
      slow_air(s.find("slow_air_flow")),
      slow_riser(s.find("slow_riser_fuel")),
      slow_share(s.find("slow_channel_fuel_share")),
      slow_channel_fuel(s.find("slow_channel_fuel")),
      pump_flow(s.find("pump_fuel_flow")),
      pump_inlet(s.find("pump_inlet_flow")),
      pump_travel(s.find("pump_travel")),
      enrichment_flow(s.find("enrichment_fuel_flow")),
      enrichment_jet_flow(s.find("enrichment_jet_flow")),
      enrichment_air(s.find("enrichment_air_flow")),
      air_flow(s.find("carburetor_air_flow")),
      fuel_flow(s.find("carburetor_fuel_flow")),
      airbox(volume(s, "airbox")),
      mixing(volume(s, "mixing")),
      manifold(volume(s, "manifold")) {
  cycle_idle = s.find_cycle("cycle_idle_fuel_flow");
  cycle_main = s.find_cycle("cycle_main_fuel_flow");
  cycle_pump = s.find_cycle("cycle_pump_fuel_flow");
  cycle_enrichment = s.find_cycle("cycle_enrichment_fuel_flow");
  const auto& g = s.geometry();
  for (std::size_t i = 0; i < g.ports.size(); ++i) {
    port_flow.push_back(s.find(numbered("port", i) + "_fuel_flow"));
    cycle_port.push_back(s.find_cycle("cycle_" + numbered("port", i) + "_fuel_flow"));
    port_air.push_back(s.find(numbered("port", i) + "_air_flow"));
    port_exposure.push_back(s.find(numbered("port", i) + "_exposure"));
  }
  for (std::size_t k = 0; k < g.firing.size(); ++k) {
    auto& cells = runner.emplace_back();
    auto& flows = runner_flow.emplace_back();
    for (int i = 0; i < g.runner_cells; ++i) {
      const std::string name =
          numbered("runner", k) + (g.runner_cells > 1 ? "_" + std::to_string(i + 1) : std::string());
      cells.push_back(volume(s, name));
      flows.push_back(s.find(name + "_inlet_flow"));
    }
    const std::string c = numbered("cylinder", k);
    cylinder.push_back(volume(s, c));
    exhaust.push_back(volume(s, numbered("exhaust", k)));
    intake_flow.push_back(s.find(numbered("intake_valve", k) + "_flow"));
    exhaust_flow.push_back(s.find(numbered("exhaust_valve", k) + "_flow"));
    intake_lift.push_back(s.find(c + "_intake_lift"));
    exhaust_lift.push_back(s.find(c + "_exhaust_lift"));
    burn_rate.push_back(s.find(c + "_burn_rate"));
    trapped_lambda.push_back(s.find(c + "_trapped_lambda"));
    film.push_back(s.find(numbered("film", k) + "_fuel"));
    film_deposited.push_back(s.find(numbered("film", k) + "_deposited"));
    film_evaporated.push_back(s.find(numbered("film", k) + "_evaporated"));
  }
}

double gas_mass(const Instant& now, const Signals::Volume& v) {
  return now[v.air] + now[v.vapour] + now[v.droplets] + now[v.burned];
}

}  // namespace glassbowl::viz
