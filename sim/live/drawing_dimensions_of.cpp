#include "sim/live/drawing_dimensions_of.hpp"

#include <algorithm>
#include <cmath>

#include "models/constants.hpp"
#include "models/fluids/fuel.hpp"
#include "sim/bike/declare_keys.hpp"

namespace glassbowl::sim {
namespace {

JetSize size_of(const m::Jet<double>& jet) {
  return {jet.bore + jet.wear, jet.wear, jet.length, jet.blocked};
}

ChannelSize size_of(const m::EmulsionChannel<double>& channel) {
  return {size_of(channel.fuel_jet), size_of(channel.air_jet), channel.height, channel.riser_diameter,
          channel.volume};
}

void describe_bore(const Carburetor<double>& c, DrawingDimensions& g) {
  g.vacuum_piston = c.kind == CarburetorKind::constant_depression;
  g.bore = c.throttle.bore;
  g.shaft = c.throttle.shaft;
  g.closed_angle = c.throttle.closed_angle;
  g.open_angle = c.throttle.open_angle;
  g.idle_stop = c.idle_stop;
  g.venturi = c.venturi.diameter;
  g.choke_fitted = c.choke.fitted;
  g.choke_bore = c.choke.bore;
  const auto& p = c.piston;
  g.slide_diameter = p.slide_diameter;
  g.diaphragm_diameter = p.diaphragm_diameter;
  g.piston_travel = p.travel;
  g.piston_rest_gap = p.rest_gap;
  g.piston_mass = p.mass;
  g.chamber_volume = p.chamber_volume;
  g.vent_diameter = p.vent_diameter;
  g.vent_count = p.vent_count;
  g.needle_jet = c.needle.jet_diameter + c.needle.jet_wear;
  g.needle_raised = c.needle.raised;
  for (const auto& [x, y] : c.needle.diameter.points()) {
    g.needle.x.push_back(x);
    g.needle.y.push_back(y);
  }
}

void describe_circuits(const Carburetor<double>& c, DrawingDimensions& g) {
  const auto& b = c.bowl;
  g.bowl_area = b.area;
  g.bowl_depth = b.depth;
  g.bowl_rim = b.rim;
  g.bowl_set_level = b.level;
  g.float_area = b.float_area;
  g.lever_ratio = b.lever_ratio;
  g.seat_bore = b.seat_bore;
  g.bowl_vented_to_airbox = b.vented_to_airbox;
  const auto& mc = c.main;
  g.main_jet = size_of(mc.main_jet);
  g.main_air_jet = size_of(mc.air_jet);
  g.well_diameter = mc.well_diameter;
  g.tube_diameter = mc.tube_diameter;
  g.well_section = m::well_area(mc);
  g.well_foot = mc.foot;
  g.nozzle_lip = mc.lip;
  g.riser_diameter = mc.riser_diameter;
  g.nozzle_diameter = mc.nozzle_diameter;
  for (const auto& row : mc.tube.rows) g.holes.push_back({row.height, row.diameter, row.count});
  g.slow = size_of(c.slow);
  g.slow_from_well = c.slow_source == SlowSource::well;
  g.screw_turns = c.screw.turns;
  g.screw_seat_bore = c.screw.seat_bore;
  g.screw_pitch = c.screw.pitch;
  for (const auto& port : c.ports) g.ports.push_back({port.position, port.diameter});
  g.pump_fitted = c.pump.fitted;
  g.pump_diameter = c.pump.diaphragm_diameter;
  g.pump_stroke = c.pump.stroke;
  g.pump_nozzle_height = c.pump.nozzle_height;
  g.pump_nozzle = size_of(c.pump.nozzle);
  g.pump_inlet_area = c.pump.inlet_area;
  g.enrichment_fitted = c.enrichment.fitted;
  g.enrichment = size_of(c.enrichment.channel);
}

void describe_gas_side(const GasPath<double>& p, const Engine<double>& e, DrawingDimensions& g) {
  g.bore_length = p.bore_length;
  g.mixing_volume = p.mixing_volume;
  g.airbox_volume = p.airbox_volume;
  g.inlet_diameter = p.inlet_diameter;
  g.inlet_length = p.inlet_length;
  g.manifold_volume = p.manifold_volume;
  g.runner_length = p.runner_length;
  g.runner_diameter = p.runner_diameter;
  g.runner_cells = p.runner_cells;
  g.exhaust_volume = p.exhaust_volume;
  g.exhaust_diameter = p.exhaust_diameter;
  g.exhaust_length = p.exhaust_length;
  g.cylinder_bore = e.crank.bore;
  g.stroke = e.crank.stroke;
  g.rod = e.crank.rod;
  g.compression_ratio = e.crank.compression_ratio;
  g.firing = e.firing;
  g.intake_valve = e.intake.diameter;
  g.exhaust_valve = e.exhaust.diameter;
  g.intake_valve_lift = e.intake.lift;
  g.exhaust_valve_lift = e.exhaust.lift;
}

}  // namespace

double Curve::at(double where) const {
  if (x.empty()) return 0.0;
  if (where <= x.front()) return y.front();
  for (std::size_t i = 1; i < x.size(); ++i)
    if (where < x[i]) return y[i - 1] + (y[i] - y[i - 1]) * (where - x[i - 1]) / (x[i] - x[i - 1]);
  return y.back();
}

DrawingDimensions drawing_dimensions_of(const Bike<double>& bike) {
  DrawingDimensions g;
  describe_bore(bike.carburetor, g);
  describe_circuits(bike.carburetor, g);
  describe_gas_side(bike.path, bike.engine, g);
  g.fuel_density = m::liquid_density(bike.fuel, bike.carburetor.body_temperature);
  g.stoichiometric_ratio = bike.fuel.stoichiometric_ratio;
  return g;
}

/// Keys that this program does not know are passed over: a trace of a later version has more of them.
DrawingDimensions read_geometry(const std::string& case_text) {
  Keys keys(Layers::parse(case_text, "the case inside the trace"));
  Bike<double> bike;
  declare_engine(keys, bike.engine);
  declare_gas_path(keys, bike.path, bike.film);
  declare_fuel(keys, bike.fuel);
  declare_carburetor(keys, bike.fuel, bike.carburetor);
  declare_vacuum_piston(keys, bike.carburetor);
  declare_supply(keys, bike.carburetor);
  keys.quantity("carburetor.bore_length", bike.path.bore_length, "mm", {20, 500}, "90 mm",
                "air horn to plate");
  keys.quantity("carburetor.mixing_volume", bike.path.mixing_volume, "cm3", {5, 500}, "45 cm3",
                "throat to plate");
  if (!keys.sound()) keys.finish();
  return drawing_dimensions_of(bike);
}

double piston_drop(const DrawingDimensions& g, double angle) {
  const double a = 0.5 * g.stroke, s = a * std::sin(angle);
  return g.rod + a - a * std::cos(angle) - std::sqrt(std::max(0.0, g.rod * g.rod - s * s));
}

}  // namespace glassbowl::sim
