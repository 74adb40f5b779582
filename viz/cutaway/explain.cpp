#include "viz/cutaway/explain.hpp"

#include <fmt/format.h>

#include <cmath>
#include <numbers>

namespace glassbowl::viz {
namespace {

std::string mm(double metres) {
  return fmt::format("{:.2f} mm", metres * 1e3);
}
std::string mg_per_s(double flow) {
  return std::isfinite(flow) ? fmt::format("{:.1f} mg/s", flow * 1e6) : "not in this trace";
}
std::string g_per_s(double flow) {
  return std::isfinite(flow) ? fmt::format("{:.2f} g/s", flow * 1e3) : "not in this trace";
}
std::string kpa(double pressure) {
  return std::isfinite(pressure) ? fmt::format("{:.2f} kPa", pressure * 1e-3) : "not in this trace";
}
std::string deg(double angle) {
  return fmt::format("{:.1f}°", angle * 180.0 / std::numbers::pi);
}

/// The stop gives way by hundredths of a millimetre: a piston that lies on it is at 0.
double shown_lift(double lift) {
  return lift < 0.0 ? 0.0 : lift;
}

std::string jet_size(const sim::JetSize& jet) {
  std::string text = "bore " + mm(jet.bore) + ", length " + mm(jet.length);
  if (jet.blocked > 0.0) text += fmt::format(", {:.0f} % lost to dirt", 100.0 * jet.blocked);
  return text;
}

}  // namespace

Explanation explain(PartId id, const Signals& s, const Instant& now) {
  const auto& g = now.source().geometry();
  const std::size_t k = id.index;
  const std::string number = std::to_string(k + 1);
  switch (id.part) {
    case Part::airbox:
      return {"Airbox", fmt::format("{:.1f} l, not drawn to size", g.airbox_volume * 1e3),
              kpa(now[s.airbox_pressure]) + ", filter " + g_per_s(now[s.filter_flow]),
              "Calms the pulses between filter and carburetor; reversed flow leaves fuel here."};
    case Part::choke_plate:
      return {"Choke plate", "bore " + mm(g.choke_bore),
              fmt::format("{:.0f} % shut, air {}", 100.0 * now[s.choke], g_per_s(now[s.bore_flow])),
              "Shut for a cold start, it lowers the pressure at every outlet so that more fuel is drawn."};
    case Part::throat:
      if (!g.vacuum_piston)
        return {"Venturi", "throat " + mm(g.venturi),
                kpa(now[s.throat_pressure]) + ", air " + g_per_s(now[s.bore_flow]),
                "Air runs faster through the narrow place, so its pressure falls and fuel is pushed up."};
      return {
          "Throat", fmt::format("{:.0f} mm² free", now[s.throat_area] * 1e6),
          kpa(now[s.throat_pressure]) + ", air " + g_per_s(now[s.bore_flow]),
          "The opening below the piston: it grows with the air flow, so the depression stays much the same."};
    case Part::vacuum_piston:
      return {"Vacuum piston",
              fmt::format("slide {}, {:.0f} g, travel {}", mm(g.slide_diameter), g.piston_mass * 1e3,
                          mm(g.piston_travel)),
              "lift " + mm(shown_lift(now[s.piston_lift])) + ", air below it " + g_per_s(now[s.bore_flow]),
              "Rises until the pressure difference across the diaphragm carries its weight and spring."};
    case Part::piston_chamber:
      return {"Chamber above the diaphragm",
              fmt::format("diaphragm {}, {:.0f} holes of {}", mm(g.diaphragm_diameter), g.vent_count,
                          mm(g.vent_diameter)),
              kpa(now[s.chamber_pressure]),
              "Breathes through the holes in the piston; their size sets how quickly the piston may follow."};
    case Part::needle:
      return {
          "Needle", "jet " + mm(g.needle_jet) + ", raised " + mm(g.needle_raised),
          fmt::format("free ring {:.2f} mm², fuel {}", now[s.needle_area] * 1e6, mg_per_s(now[s.main_flow])),
          "Its taper sets how much fuel passes at each lift."};
    case Part::mixing_chamber:
      return {"Bore before the plate", mm(g.bore),
              kpa(now[s.mixing_pressure]) + ", air " + g_per_s(now[s.plate_flow]),
              "Where air and main fuel mix."};
    case Part::throttle_plate:
      return {"Throttle plate", "bore " + mm(g.bore) + ", shaft " + mm(g.shaft),
              deg(now[s.plate_angle]) + " from square, air " + g_per_s(now[s.plate_flow]),
              "Set by the rider: its angle sets the air flow, and its edge uncovers the transfer ports."};
    case Part::transfer_port:
      return {
          "Transfer port " + number,
          "hole " + mm(g.ports[k].diameter) + ", " + mm(g.ports[k].position) + " before the shaft",
          fmt::format("{:.0f} % behind the edge, {}", 100.0 * now[s.port_exposure[k]],
                      mg_per_s(now[s.port_flow[k]])),
          "Bleeds air into the slow channel while covered, delivers fuel once the plate's edge has passed."};
    case Part::idle_outlet:
      return {"Idle outlet", "hole " + mm(g.screw_seat_bore), mg_per_s(now[s.idle_flow]),
              "Feeds the engine behind the shut plate."};
    case Part::mixture_screw:
      return {"Mixture screw", fmt::format("{:.2f} turns out", g.screw_turns), mg_per_s(now[s.idle_flow]),
              "Sets how much of the slow channel's mixture passes at idle."};
    case Part::bowl:
      return {
          "Float bowl",
          fmt::format("surface {:.1f} cm², set level {:.1f} mm", g.bowl_area * 1e4, g.bowl_set_level * 1e3),
          fmt::format("level {:.2f} mm, in {}", now[s.bowl_level] * 1e3, mg_per_s(now[s.feed_flow])),
          "Keeps the fuel at a steady height below the outlets."};
    case Part::float_valve:
      return {"Float valve", "seat " + mm(g.seat_bore), mg_per_s(now[s.feed_flow]),
              "Lets in as much as is drawn: the float shuts it as the level rises."};
    case Part::main_jet:
      return {"Main jet", jet_size(g.main_jet), mg_per_s(now[s.main_jet_flow]),
              "Meters the main fuel. A smaller one makes the mixture leaner: see the cautions."};
    case Part::main_air_jet:
      return {"Main air jet", jet_size(g.main_air_jet), mg_per_s(now[s.bleed_air]) + " of air",
              "Lets air to the tube's holes; it keeps the mixture from growing richer with air flow."};
    case Part::well:
      return {
          "Main well", mm(g.well_diameter) + " wide, foot at " + mm(g.well_foot),
          fmt::format("level {:.2f} mm, in {}", now[s.well_level] * 1e3, mg_per_s(now[s.main_jet_flow])),
          "Store of fuel around the air-bled tube; as it is drawn down, holes come free one after another."};
    case Part::riser:
      return {"Riser", "bore " + mm(g.riser_diameter),
              fmt::format("{:.0f} % air, fuel {}", 100.0 * now[s.void_fraction], mg_per_s(now[s.riser_flow])),
              "Carries fuel and bubbles up to the nozzle."};
    case Part::nozzle:
      return {"Main nozzle", "lip at " + mm(g.nozzle_lip),
              mg_per_s(now[s.main_flow]) + ", " + kpa(now[s.depression]) + " below the airbox",
              "Where main fuel enters the air, once the depression lifts it over the lip."};
    case Part::slow_jet:
      return {"Slow jet", jet_size(g.slow.jet), mg_per_s(now[s.slow_jet_flow]),
              "Meters fuel for idle and transition."};
    case Part::slow_air_jet:
      return {"Slow air jet", jet_size(g.slow.air_jet), mg_per_s(now[s.slow_air]) + " of air",
              "Breaks up the slow fuel with air."};
    case Part::slow_channel:
      return {"Slow channel",
              fmt::format("{:.2f} cm³, {:.0f} mm above the bowl joint face", g.slow.volume * 1e6,
                          g.slow.height * 1e3),
              fmt::format("{:.0f} % fuel by mass, fuel in {}", 100.0 * now[s.slow_share],
                          mg_per_s(now[s.slow_jet_flow])),
              "Brings fuel and air to idle outlet and transfer ports. Its passages are drawn in order, not "
              "to length."};
    case Part::pump:
      return {"Accelerator pump", "diaphragm " + mm(g.pump_diameter) + ", stroke " + mm(g.pump_stroke),
              "travel " + mm(now[s.pump_travel]) + ", in " + mg_per_s(now[s.pump_inlet]) + ", out " +
                  mg_per_s(now[s.pump_flow]),
              "Squirts fuel when the throttle opens, while the other circuits still lag."};
    case Part::pump_nozzle:
      return {"Pump nozzle", jet_size(g.pump_nozzle), mg_per_s(now[s.pump_flow]),
              "Meters the pump's shot and so its duration."};
    case Part::enrichment:
      return {"Cold-start enrichment", jet_size(g.enrichment.jet),
              fmt::format("{:.0f} % lifted, {}", 100.0 * now[s.choke], mg_per_s(now[s.enrichment_flow])),
              "A small carburetor of its own for the cold start."};
    case Part::manifold:
      return {"Manifold", fmt::format("{:.0f} cm³", g.manifold_volume * 1e6),
              kpa(now[s.manifold_pressure]) + ", in " + g_per_s(now[s.plate_flow]),
              "Shared by all cylinders: each feels the others' pulses here."};
    case Part::runner:
      return {"Runner " + number, mm(g.runner_length) + " long, " + mm(g.runner_diameter),
              g_per_s(now[s.runner_flow[k].front()]) + ", " + kpa(now[s.runner[k].back().pressure]),
              "Leads to one cylinder; the gas in it has inertia and swings."};
    case Part::film:
      return {"Wall film " + number, "on the runner's wall, thickness enlarged",
              fmt::format("{:.1f} mg, lands {}, leaves {}", now[s.film[k]] * 1e6,
                          mg_per_s(now[s.film_deposited[k]]), mg_per_s(now[s.film_evaporated[k]])),
              "Droplets land here and leave late: the reason why fuel lags behind air."};
    case Part::intake_valve:
      return {"Intake valve " + number, mm(g.intake_valve) + " head",
              "lift " + mm(now[s.intake_lift[k]]) + ", " + g_per_s(now[s.intake_flow[k]]),
              "Opens the cylinder to its runner."};
    case Part::exhaust_valve:
      return {"Exhaust valve " + number, mm(g.exhaust_valve) + " head",
              "lift " + mm(now[s.exhaust_lift[k]]) + ", " + g_per_s(now[s.exhaust_flow[k]]),
              "Lets the burned gas out."};
    case Part::cylinder:
      return {"Cylinder " + number,
              fmt::format("{:.0f} x {:.1f} mm, {:.1f} to 1", g.cylinder_bore * 1e3, g.stroke * 1e3,
                          g.compression_ratio),
              kpa(now[s.cylinder[k].pressure]) +
                  fmt::format(", in-cylinder lambda {:.2f}", now[s.trapped_lambda[k]]),
              "Draws, burns, drives the crank."};
    default:
      return {};
  }
}

}  // namespace glassbowl::viz
