#include <fmt/format.h>

#include <cmath>

#include "models/constants.hpp"
#include "models/throat/needle.hpp"
#include "models/throat/vacuum_piston.hpp"
#include "sim/bike/declare_keys.hpp"
#include "sim/cases/usual_spread.hpp"

namespace glassbowl::sim {
namespace {

constexpr double degree = m::constants::pi / 180.0;

constexpr std::size_t most_rows = 12;

void declare_tube(Keys& keys, m::MainCircuit<double>& main) {
  std::vector<double> heights, diameters, counts;
  keys.quantities("carburetor.main.hole_height", heights, "mm", {-60, 5}, most_rows, std::nullopt,
                  "height of each row of tube holes above the bowl joint face, upper first",
                  usual::within(0.5e-3, "a height by ruler"));
  keys.quantities("carburetor.main.hole_diameter", diameters, "mm", {0.1, 4}, most_rows, std::nullopt,
                  "of each row", usual::small_hole());
  keys.quantities("carburetor.main.hole_count", counts, units::one, {1, 24}, most_rows, std::nullopt,
                  "holes in each row");
  if (!keys.sound()) return;
  if (heights.empty() || heights.size() != diameters.size() || heights.size() != counts.size()) {
    keys.problem("carburetor.main.hole_height",
                 fmt::format("{} heights, {} diameters and {} counts do not describe rows", heights.size(),
                             diameters.size(), counts.size()),
                 "lists of equal length in hole_height, hole_diameter and hole_count");
    return;
  }
  for (std::size_t i = 0; i < heights.size(); ++i)
    main.tube.rows.push_back({heights[i], diameters[i], counts[i]});
}

void declare_ports(Keys& keys, Carburetor<double>& c) {
  std::vector<double> position, diameter, plugged;
  keys.quantities("carburetor.ports.position", position, "mm", {-40, 40}, most_rows, "[]",
                  "of each transfer port upstream of the throttle shaft's plane",
                  usual::within(0.2e-3, "a distance by calliper"));
  keys.quantities("carburetor.ports.diameter", diameter, "mm", {0.1, 4}, most_rows, "[]",
                  "of each transfer port", usual::small_hole());
  keys.quantities("carburetor.ports.plugged", plugged, units::percent, {0, 100}, most_rows, "[]",
                  "fault: share of each port lost to dirt; none given: clean");
  if (!keys.sound()) return;
  if (plugged.empty()) plugged.assign(position.size(), 0.0);
  if (position.size() != diameter.size() || position.size() != plugged.size()) {
    keys.problem("carburetor.ports.position",
                 fmt::format("{} positions, {} diameters and {} plugged shares do not describe ports",
                             position.size(), diameter.size(), plugged.size()),
                 "lists of equal length");
    return;
  }
  for (std::size_t i = 0; i < position.size(); ++i) {
    if (std::abs(position[i]) > 0.5 * c.throttle.bore)
      keys.problem(
          "carburetor.ports.position",
          fmt::format(
              "port {} lies {:.1f} mm from the shaft, outside the reach of a plate in a {:.1f} mm bore",
              i + 1, position[i] * 1e3, c.throttle.bore * 1e3),
          "a place that the plate's edge sweeps, within half a bore of the shaft");
    c.ports.push_back({position[i], diameter[i], plugged[i]});
  }
}

void declare_channel(Keys& keys, const std::string& path, const m::Fuel<double>& fuel,
                     m::EmulsionChannel<double>& channel) {
  declare_jet(keys, path + ".jet", fuel, "fuel jet", "1.3 mm", channel.fuel_jet);
  declare_jet(keys, path + ".air_jet", fuel, "air jet", "2 mm", channel.air_jet);
  keys.quantity(path + ".air_jet.discharge", channel.air_jet_discharge, units::one, {0.3, 1}, "0.75",
                "of the air jet", usual::coefficient());
  keys.quantity(path + ".channel_volume", channel.volume, "cm3", {0.2, 20}, "0.8 cm3",
                "where fuel and air mix");
  keys.quantity(path + ".channel_height", channel.height, "mm", {-10, 60}, "12 mm",
                "above the bowl joint face", usual::within(1e-3, "a height inside a casting"));
  keys.quantity(path + ".passage_diameter", channel.riser_diameter, "mm", {0.5, 8}, "1.8 mm",
                "from jet up to channel", usual::share(5, "a passage inside a casting"));
}

}  // namespace

namespace {

constexpr double same_bore = 0.005;                          // [-] a third of the usual step between two jets
constexpr double same_level = 0.25e-3;                       // [m] as well as a clear tube can be read
constexpr double least_bore = 0.1e-3, greatest_bore = 6e-3;  // [m] as declared
constexpr double lowest_level = -40e-3, highest_level = 15e-3;  // [m] as declared

/// Bore and flow rating say the same thing: the one given nearer to the case counts. In one place they must
/// agree.
void choose_bore(Keys& keys, const std::string& path, double rated, m::Jet<double>& jet) {
  const std::string bore = path + ".bore", rating = path + ".flow_rating";
  const auto nearer = keys.second_is_nearer(bore, rating);
  if (nearer && !*nearer) return keys.replace(rating, "\"0 cm3/min\"", bore);
  if (!(rated >= least_bore && rated <= greatest_bore))
    return keys.problem(rating, fmt::format("this is the flow of a bore of {:.3g} mm", rated * 1e3),
                        "a flow of a bore of 0.1 mm to 6 mm, with the flow_head of its test");
  if (!nearer && std::abs(rated - jet.bore) > same_bore * jet.bore)
    return keys.problem(rating,
                        fmt::format("under flow_head this is the flow of a bore of {:.3f} mm, but bore says "
                                    "{:.3f} mm",
                                    rated * 1e3, jet.bore * 1e3),
                        "give one of them, or two that agree to 0.5 %");
  jet.bore = rated;
  keys.replace(bore, fmt::format("\"{:.17g} m\"", rated), rating);
}

/// The same for a level and a float height.
void choose_level(Keys& keys, double height, double height_at_datum, double& level) {
  const std::string first = "float.level", second = "float.height";
  const auto nearer = keys.second_is_nearer(first, second);
  if (nearer && !*nearer) return keys.replace(second, "\"0 mm\"", first);
  const double measured = height_at_datum - height;
  if (keys.is_default("float.height_at_datum"))
    return keys.problem(second,
                        "a float height means a level only together with float.height_at_datum, which is not "
                        "given",
                        "give the float height at which fuel stands at the bowl joint face, or float.level "
                        "in place of both");
  if (!(measured >= lowest_level && measured <= highest_level))
    return keys.problem(second, fmt::format("this means a level of {:.2f} mm", measured * 1e3),
                        "a height that means a level of -40 mm to 15 mm");
  if (!nearer && std::abs(measured - level) > same_level)
    return keys.problem(second,
                        fmt::format("with height_at_datum this means a level of {:.2f} mm, but level says "
                                    "{:.2f} mm",
                                    measured * 1e3, level * 1e3),
                        "give one of them, or two that agree to 0.25 mm");
  level = measured;
  keys.replace(first, fmt::format("\"{:.17g} m\"", level), second);
}

}  // namespace

void declare_jet(Keys& keys, const std::string& path, const m::Fuel<double>& fuel, const std::string& what,
                 const char* length, m::Jet<double>& jet) {
  double rating = 0.0, head = 0.0;
  keys.quantity(path + ".bore", jet.bore, "mm", {0.1, 6}, std::nullopt, what + ": bore",
                usual::drilled_jet());
  keys.quantity(path + ".flow_rating", rating, "cm3/min", {0, 5000}, "0 cm3/min",
                what + ": flow of this fuel under flow_head, in place of bore when above 0",
                usual::flow_rated_jet());
  keys.quantity(path + ".flow_head", head, "mm", {10, 5000}, "500 mm",
                what + ": test head of the flow rating");
  keys.quantity(path + ".length", jet.length, "mm", {0.2, 30}, length, what + ": length of its bore");
  keys.quantity(path + ".blocked", jet.blocked, units::percent, {0, 99.9}, "0 %",
                "fault: share of its area lost to dirt");
  keys.quantity(path + ".wear", jet.wear, "mm", {0, 2}, "0 mm", "fault: growth of its bore");
  if (!keys.sound()) return;
  if (rating > 0.0)
    choose_bore(
        keys, path,
        m::bore_from_flow_rating(rating, head, jet.length, fuel.density_20, fuel.kinematic_viscosity_20),
        jet);
  if (jet.length < 1.5 * jet.bore)
    keys.warning(path + ".length",
                 "shorter than 1.5 bores, where discharge is uncertain (attached or separated flow)");
}

void declare_carburetor(Keys& keys, const m::Fuel<double>& fuel, Carburetor<double>& c) {
  keys.choice("carburetor.kind", c.kind,
              {{"fixed_venturi", CarburetorKind::fixed_venturi},
               {"constant_depression", CarburetorKind::constant_depression}},
              std::nullopt, "fixed venturi, or vacuum-lifted piston");
  auto& t = c.throttle;
  keys.quantity("carburetor.throttle.bore", t.bore, "mm", {10, 80}, std::nullopt,
                "bore at the throttle plate", usual::turned_bore());
  keys.quantity("carburetor.throttle.shaft", t.shaft, "mm", {0, 20}, "8 mm", "shaft diameter",
                usual::share(3, "a length by ruler or gauge"));
  keys.quantity("carburetor.throttle.closed_angle", t.closed_angle, units::angle, {0, 30}, "8 deg",
                "plate angle that would seal the bore");
  keys.quantity("carburetor.throttle.open_angle", t.open_angle, units::angle, {40, 90}, "88 deg",
                "plate angle wide open");
  keys.quantity("carburetor.throttle.idle_stop", c.idle_stop, units::angle, {0, 40}, std::nullopt,
                "plate angle on the idle stop screw",
                usual::within(0.5 * degree, "a plate angle, by its gap at the bore"));
  keys.quantity("carburetor.throttle.fast_idle", c.fast_idle, units::angle, {0, 20}, "0 deg",
                "added by the shut choke");
  keys.quantity("carburetor.throttle.contraction", t.contraction, units::one, {0.5, 1}, "0.65",
                "of the jet at the plate's edge", usual::coefficient());
  keys.quantity("carburetor.throttle.leak_area", t.leak_area, "mm2", {0, 50}, "0.5 mm2",
                "past the sealed plate", usual::share(50, "a leak that nobody measures"));
  keys.quantity("carburetor.body_temperature", c.body_temperature, units::temperature, {-40, 90}, "30 degC",
                "of fuel and passages", usual::within(10.0, "warmth of the carburetor, by load and weather"));

  keys.flag("carburetor.choke.fitted", c.choke.fitted, "false", "whether there is a choke plate");
  keys.quantity("carburetor.choke.bore", c.choke.bore, "mm", {10, 90}, "42 mm", "bore at the choke plate");
  keys.quantity("carburetor.choke.closed_area", c.choke.closed_area, "mm2", {0, 1000}, "45 mm2",
                "gap of the shut plate", usual::share(15, "the area of a gap"));
  keys.quantity("carburetor.choke.relief_area", c.choke.relief_area, "mm2", {0, 2000}, "120 mm2",
                "of the spring-loaded relief", usual::share(15, "the area of a gap"));
  keys.quantity("carburetor.choke.relief_pressure", c.choke.relief_pressure, "kPa", {0.1, 50}, "2.5 kPa",
                "drop that half opens it");
  keys.quantity("carburetor.choke.discharge", c.choke.discharge, units::one, {0.3, 0.95}, "0.65",
                "of the plate's gaps", usual::coefficient());

  keys.quantity("carburetor.venturi.diameter", c.venturi.diameter, "mm", {6, 70}, "30 mm",
                "narrowest place (fixed venturi)", usual::turned_bore());
  keys.quantity("carburetor.venturi.discharge", c.venturi.discharge, units::one, {0.5, 1}, "0.9",
                "of the throat", usual::share(3, "the discharge coefficient of a smooth throat"));
  keys.quantity("carburetor.venturi.loss", c.venturi.loss, units::one, {0.02, 1.2}, "0.25",
                "unrecovered share of the throat's dynamic pressure", usual::share(20, "a loss coefficient"));
  keys.quantity("carburetor.venturi.signal", c.venturi.signal, units::one, {0.5, 4}, "1",
                "depression at the nozzle over that of the throat",
                usual::share(10, "the shape of a booster or nozzle, which no workshop measures"));

  auto& mc = c.main;
  declare_jet(keys, "carburetor.main.jet", fuel, "main jet", "3 mm", mc.main_jet);
  declare_jet(keys, "carburetor.main.air_jet", fuel, "main air jet", "2 mm", mc.air_jet);
  keys.quantity("carburetor.main.air_jet.discharge", mc.air_jet_discharge, units::one, {0.3, 1}, "0.75",
                "of the air jet", usual::coefficient());
  declare_tube(keys, mc);
  keys.quantity("carburetor.main.holes_plugged", mc.tube.plugged, units::percent, {0, 99}, "0 %",
                "fault: share of the tube's holes lost to dirt");
  keys.quantity("carburetor.main.well_diameter", mc.well_diameter, "mm", {2, 20}, "7 mm",
                "of the well around the tube", usual::tube_bore());
  keys.quantity("carburetor.main.tube_diameter", mc.tube_diameter, "mm", {1, 19}, "4.5 mm",
                "outside of the air-bled tube", usual::share(1, "a diameter by calliper"));
  keys.quantity("carburetor.main.foot", mc.foot, "mm", {-80, -5}, "-30 mm",
                "foot of well and riser above the bowl joint face");
  keys.quantity("carburetor.main.lip", mc.lip, "mm", {-5, 30}, "6 mm", "nozzle lip above the bowl joint face",
                usual::within(0.5e-3, "a height by ruler"));
  keys.quantity("carburetor.main.riser_diameter", mc.riser_diameter, "mm", {1, 12}, "5 mm",
                "from well to nozzle", usual::tube_bore());
  keys.quantity("carburetor.main.nozzle_diameter", mc.nozzle_diameter, "mm", {1, 10}, "4 mm",
                "fixed venturi: nozzle; with a needle: mouth of its jet", usual::tube_bore());
  keys.quantity("carburetor.main.nozzle_discharge", mc.nozzle_discharge, units::one, {0.3, 1}, "0.8",
                "of the nozzle", usual::coefficient());

  declare_channel(keys, "carburetor.slow", fuel, c.slow);
  keys.choice("carburetor.slow.source", c.slow_source,
              {{"well", SlowSource::well}, {"bowl", SlowSource::bowl}}, "well",
              "where the slow jet takes its fuel");
  auto& s = c.screw;
  keys.quantity("carburetor.screw.turns", s.turns, units::one, {0, 12}, std::nullopt,
                "mixture screw, turns out from lightly seated",
                usual::within(1.0 / 16.0, "turns counted to an eighth"));
  keys.quantity("carburetor.screw.pitch", s.pitch, "mm", {0.1, 2}, "0.5 mm", "of its thread");
  keys.quantity("carburetor.screw.seat_bore", s.seat_bore, "mm", {0.2, 4}, "1 mm", "hole that its tip closes",
                usual::small_hole());
  keys.quantity("carburetor.screw.taper", s.taper, units::angle, {2, 90}, "14 deg", "full angle of its tip",
                usual::within(1.0 * degree, "an angle by protractor"));
  keys.quantity("carburetor.screw.discharge", s.discharge, units::one, {0.3, 1}, "0.65", "of the outlet",
                usual::share(8, "the discharge coefficient of a narrow ring"));
  declare_ports(keys, c);

  auto& p = c.pump;
  keys.flag("carburetor.pump.fitted", p.fitted, "false", "whether there is an accelerator pump");
  keys.quantity("carburetor.pump.diaphragm_diameter", p.diaphragm_diameter, "mm", {4, 80}, "22 mm",
                "effective", usual::share(2, "an effective diameter"));
  keys.quantity("carburetor.pump.stroke", p.stroke, "mm", {0, 20}, "2 mm", "travel at full cam",
                usual::within(0.2e-3, "a stroke by ruler"));
  keys.quantity("carburetor.pump.cam_start", p.cam_start, units::percent, {0, 95}, "0 %",
                "throttle opening where lost motion is taken up");
  keys.quantity("carburetor.pump.cam_end", p.cam_end, units::percent, {1, 100}, "70 %",
                "throttle opening of full cam travel");
  keys.quantity("carburetor.pump.override_rate", p.override_rate, "N/mm", {0.05, 100}, "4 N/mm",
                "rate of the override spring");
  keys.quantity("carburetor.pump.return_preload", p.return_preload, "N", {0.05, 50}, "1 N",
                "of the return spring");
  keys.quantity("carburetor.pump.return_rate", p.return_rate, "N/mm", {0, 20}, "0.4 N/mm",
                "of the return spring");
  declare_jet(keys, "carburetor.pump.nozzle", fuel, "pump nozzle", "1.2 mm", p.nozzle);
  keys.quantity("carburetor.pump.nozzle_height", p.nozzle_height, "mm", {-10, 80}, "20 mm",
                "above the bowl joint face");
  keys.quantity("carburetor.pump.inlet_area", p.inlet_area, "mm2", {0, 20}, "1.5 mm2",
                "effective, of the open inlet check");
  keys.quantity("carburetor.pump.crack", p.crack, "kPa", {0.01, 20}, "0.6 kPa",
                "pressure that lifts the outlet check");
  keys.quantity("carburetor.pump.leak_area", p.leak_area, "mm2", {0, 5}, "0.02 mm2",
                "past diaphragm and inlet check; a dead pump leaks all");
  keys.quantity("carburetor.pump.pull_over", p.pull_over, units::one, {0, 1}, "0",
                "share of the venturi's depression at the nozzle; 0 with an anti-siphon vent");

  auto& e = c.enrichment;
  keys.flag("carburetor.enrichment.fitted", e.fitted, "false",
            "whether there is a cold-start enrichment circuit");
  declare_channel(keys, "carburetor.enrichment", fuel, e.channel);
  keys.quantity("carburetor.enrichment.plunger_area", e.plunger_area, "mm2", {0, 100}, "8 mm2",
                "effective outlet area, plunger lifted", usual::share(10, "an effective area"));

  if (!keys.sound()) return;
  if (c.idle_stop <= t.closed_angle)
    keys.warning("carburetor.throttle.idle_stop",
                 "at or below the angle that seals the bore: no air at idle but the leak");
  const bool bore_is_nearer =  // to the case: that line is the user's, and the one to change
      keys.second_is_nearer("carburetor.venturi.diameter", "carburetor.throttle.bore").value_or(false);
  if (c.venturi.diameter >= t.bore && c.kind == CarburetorKind::fixed_venturi && bore_is_nearer)
    keys.problem(
        "carburetor.throttle.bore",
        fmt::format("the bore is not wider than the venturi, carburetor.venturi.diameter = {:.4g} mm",
                    c.venturi.diameter * 1e3),
        fmt::format("give a wider bore, {:.3g} to {:.3g} mm for this venturi, or a narrower venturi, "
                    "70 to 90 % of the bore",
                    c.venturi.diameter * 1e3 / 0.9, c.venturi.diameter * 1e3 / 0.7));
  else if (c.venturi.diameter >= t.bore && c.kind == CarburetorKind::fixed_venturi)
    keys.problem(
        "carburetor.venturi.diameter",
        fmt::format("the venturi is not narrower than the bore, carburetor.throttle.bore = {:.4g} mm",
                    t.bore * 1e3),
        "a venturi of 70 to 90 % of the bore is needed");
  else if (c.kind == CarburetorKind::fixed_venturi && c.venturi.diameter < 0.6 * t.bore)
    keys.warning("carburetor.venturi.diameter",
                 fmt::format("only {:.0f} % of the bore, where 70 to 90 % is common practice",
                             100.0 * c.venturi.diameter / t.bore));
  if (s.turns < 0.25)
    keys.warning("carburetor.screw.turns", "all but shut: the idle outlet gives next to nothing");
  if (mc.main_jet.bore >= mc.well_diameter)
    keys.problem("carburetor.main.jet.bore",
                 fmt::format("the main jet is as wide as its well of {:.2f} mm", mc.well_diameter * 1e3),
                 "a jet well below the well's diameter");
  if (mc.tube_diameter >= mc.well_diameter)
    keys.problem("carburetor.main.tube_diameter", "the tube does not fit into its well",
                 "a tube thinner than the well");
  if (c.slow.fuel_jet.bore >= c.slow.riser_diameter)
    keys.problem("carburetor.slow.jet.bore", "the slow jet is as wide as its passage",
                 "a jet narrower than passage_diameter");
  if (mc.lip <= mc.foot + 5e-3)
    keys.problem("carburetor.main.lip", "the nozzle lip is not above the well's foot",
                 "a lip near the bowl joint face");
  for (const auto& row : mc.tube.rows)
    if (row.height < mc.foot || row.height > mc.lip)
      keys.problem("carburetor.main.hole_height", "a row of holes lies outside the well",
                   "heights between foot and lip");
  for (const auto* channel : {&c.slow, &e.channel})
    if (channel->height <= mc.foot + 2e-3)
      keys.problem(
          channel == &c.slow ? "carburetor.slow.channel_height" : "carburetor.enrichment.channel_height",
          "the channel does not lie above carburetor.main.foot, where its jet draws",
          "a height near the nozzle lip's");
  if (p.cam_end <= p.cam_start)
    keys.problem("carburetor.pump.cam_end", "the cam ends before it starts", "an opening above cam_start");
}

void declare_vacuum_piston(Keys& keys, Carburetor<double>& c) {
  auto& p = c.piston;
  keys.quantity("carburetor.piston.mass", p.mass, "g", {2, 500}, "45 g", "with needle",
                usual::share(1, "a mass on a letter balance"));
  keys.quantity("carburetor.piston.diaphragm_diameter", p.diaphragm_diameter, "mm", {15, 150}, "58 mm",
                "effective", usual::share(2, "an effective diameter"));
  keys.quantity("carburetor.piston.slide_diameter", p.slide_diameter, "mm", {10, 80}, "38 mm",
                "where it enters the bore", usual::turned_bore());
  keys.quantity("carburetor.piston.travel", p.travel, "mm", {3, 80}, "36 mm", "stop to stop");
  keys.quantity("carburetor.piston.rest_gap", p.rest_gap, "mm", {0.1, 10}, "1.2 mm",
                "opening below it on the lower stop", usual::within(0.1e-3, "a gap by feeler"));
  keys.quantity("carburetor.piston.spring_preload", p.spring_preload, "N", {0, 20}, "0.9 N",
                "on the lower stop", usual::share(8, "a spring by balance"));
  keys.quantity("carburetor.piston.spring_rate", p.spring_rate, "N/m", {0, 2000}, "30 N/m",
                "of the return spring", usual::share(8, "a spring by balance"));
  keys.quantity("carburetor.piston.vent_diameter", p.vent_diameter, "mm", {0.2, 10}, "2.2 mm",
                "each hole in the piston", usual::small_hole());
  keys.quantity("carburetor.piston.vent_count", p.vent_count, units::one, {1, 8}, "2", "holes in the piston");
  keys.quantity("carburetor.piston.vent_discharge", p.vent_discharge, units::one, {0.3, 1}, "0.7",
                "of the holes");
  keys.quantity("carburetor.piston.chamber_volume", p.chamber_volume, "cm3", {2, 500}, "35 cm3",
                "above the diaphragm at full lift");
  keys.quantity("carburetor.piston.guide_friction", p.guide_friction, "N", {0, 20}, "0.05 N",
                "dry; a sticking piston has more", usual::share(50, "friction that nobody measures"));
  keys.quantity("carburetor.piston.guide_damping", p.guide_damping, "N s/m", {0, 50}, "0.6 N s/m",
                "of guide and diaphragm");
  keys.quantity("carburetor.piston.torn_area", p.torn_area, "mm2", {0, 500}, "0 mm2",
                "fault: hole in the diaphragm");
  keys.quantity("carburetor.piston.stop_stiffness", p.stop_stiffness, "N/mm", {2, 1000}, "500 N/mm",
                "of the stops; the least depends on the diaphragm: 0.3 bar on it may press them in by 1 mm");
  auto& n = c.needle;
  std::vector<Keys::Point> profile;
  keys.quantity("carburetor.needle.jet_diameter", n.jet_diameter, "mm", {0.5, 8}, "2.6 mm", "needle jet",
                usual::within(0.006e-3, "a reamed jet"));
  keys.quantity("carburetor.needle.jet_wear", n.jet_wear, "mm", {0, 1}, "0 mm",
                "fault: growth of the needle jet");
  keys.quantity("carburetor.needle.raised", n.raised, "mm", {-8, 8}, "0 mm",
                "by clip or shim, above its standard place", usual::within(0.1e-3, "the seat of a clip"));
  keys.quantity("carburetor.needle.discharge", n.discharge, units::one, {0.3, 1}, "0.7", "of the annulus",
                usual::coefficient());
  keys.points("carburetor.needle.diameter", profile, "mm", "mm", {-20, 100}, {0.2, 8},
              R"([["0 mm", "2.5 mm"], ["36 mm", "1.8 mm"]])",
              "over distance from the jet's mouth with the piston down",
              usual::within(0.005e-3, "a needle by micrometer"));
  if (!keys.sound()) return;
  n.diameter = m::Schedule<>(std::move(profile));
  if (c.kind != CarburetorKind::constant_depression) return;
  if (n.diameter(n.raised) >= n.jet_diameter + n.jet_wear)
    keys.problem("carburetor.needle.diameter",
                 fmt::format("at rest the needle is {:.3f} mm thick in a jet of {:.3f} mm",
                             n.diameter(n.raised) * 1e3, (n.jet_diameter + n.jet_wear) * 1e3),
                 "a needle thinner than its jet over the whole lift");
  if (p.slide_diameter >= p.diaphragm_diameter)
    keys.problem("carburetor.piston.slide_diameter", "the slide is wider than its diaphragm",
                 "a slide narrower than diaphragm_diameter");
  // What the pressure of a wide open engine does to the stop; a piston that flies into it presses it as far.
  constexpr double depression = 3e4, most_pressed_in = 1e-3;  // [Pa], [m]
  const double force = depression * 0.25 * m::constants::pi * p.diaphragm_diameter * p.diaphragm_diameter;
  if (force / p.stop_stiffness > most_pressed_in)
    keys.problem("carburetor.piston.stop_stiffness",
                 fmt::format("0.3 bar on this diaphragm presses the stop {:.3g} mm in, more than 1 mm",
                             force / p.stop_stiffness * 1e3),
                 fmt::format("at least {:.0f} N/mm", std::ceil(force / most_pressed_in * 1e-3)));
  if (p.travel + p.rest_gap > p.slide_diameter + 5e-3)
    keys.warning("carburetor.piston.travel", "goes on beyond the fully open bore");
}

void declare_supply(Keys& keys, Carburetor<double>& c) {
  auto& f = c.feed;
  keys.quantity("supply.head", f.head, "mm", {10, 2000}, "300 mm",
                "full tank's surface above the float needle's seat",
                usual::within(50e-3, "a height by ruler"));
  keys.quantity("supply.tank_area", f.tank_area, "cm2", {10, 10000}, "700 cm2", "mean section of the tank");
  keys.quantity("supply.fuel_volume", f.fuel_volume, "l", {0.01, 100}, "12 l", "in the tank at the start");
  keys.quantity("supply.tap_bore", f.tap_bore, "mm", {0.3, 20}, "5 mm", "tap fully open");
  keys.quantity("supply.hose_bore", f.hose_bore, "mm", {0.5, 20}, "6 mm", "of the hose");
  keys.quantity("supply.discharge", f.discharge, units::one, {0.2, 1}, "0.6", "of tap and hose");
  auto& b = c.bowl;
  double height = 0.0, height_at_datum = 0.0;
  keys.quantity("float.bowl_area", b.area, "cm2", {1, 200}, "18 cm2", "free surface of the bowl");
  keys.quantity("float.bowl_depth", b.depth, "mm", {5, 100}, "30 mm", "floor below the bowl joint face");
  keys.quantity("float.level", b.level, "mm", {-40, 15}, "-4 mm",
                "clear-tube level against the bowl joint face, valve just shut", usual::fuel_level());
  keys.quantity(
      "float.height", height, "mm", {0, 80}, "0 mm",
      "float height as measured, 0 for none; needs height_at_datum; given beside level, the two must agree",
      usual::fuel_level());
  keys.quantity("float.height_at_datum", height_at_datum, "mm", {0, 80}, "15 mm",
                "float height that puts the level on the datum, the bowl joint face");
  keys.quantity("float.rim", b.rim, "mm", {0, 40}, "8 mm", "overflow edge above the datum");
  keys.quantity("float.float_area", b.float_area, "cm2", {0.5, 100}, "7 cm2",
                "float's section at the surface");
  keys.quantity("float.lever_ratio", b.lever_ratio, units::one, {0.05, 1}, "0.35",
                "needle travel over float travel");
  keys.quantity("float.seat_bore", b.seat_bore, "mm", {0.4, 8}, "2.3 mm", "of the needle valve",
                usual::small_hole());
  keys.quantity("float.seat_discharge", b.seat_discharge, units::one, {0.3, 1}, "0.65", "of the seat");
  keys.quantity("float.needle_angle", b.needle_angle, units::angle, {10, 170}, "60 deg",
                "full cone angle of the needle's tip");
  keys.quantity("float.nominal_feed", b.nominal_feed, "kPa", {0, 50}, "2.2 kPa",
                "feed pressure at which the level was set");
  keys.quantity("float.level_error", b.float_error, "mm", {-20, 20}, "0 mm", "fault: bent arm or sunk float");
  keys.quantity("float.needle_leak", b.needle_leak, "mm2", {0, 10}, "0 mm2",
                "fault: open area of the shut needle");
  keys.quantity("float.jet_offset", b.jet_offset, "mm", {-100, 100}, "0 mm",
                "jets behind the middle of the bowl");
  keys.quantity("float.surge", b.surge, units::one, {-1.5, 1.5}, "0",
                "steady forward acceleration over g, or uphill slope");
  keys.flag("float.vented_to_airbox", b.vented_to_airbox, "false", "else to the outside");
  if (!keys.sound()) return;
  if (height > 0.0) choose_level(keys, height, height_at_datum, b.level);
  if (!keys.sound()) return;
  if (b.level >= c.main.lip)
    keys.problem("float.level", "fuel would stand above the nozzle lip and run out",
                 "a level below carburetor.main.lip");
  if (b.level + b.depth < 2e-3)
    keys.problem("float.level", "the bowl would be empty", "a level above the bowl's floor");
  if (b.depth + c.main.foot < 0.0)
    keys.problem("carburetor.main.foot", "the well's foot lies below the bowl's floor",
                 "a foot above -float.bowl_depth");
}

}  // namespace glassbowl::sim
