#pragma once

#include <string>
#include <vector>

namespace glassbowl::sim {

/// A jet, or any drilled hole that meters.
struct JetSize {
  double bore = 0.0;     ///< [m] as it flows now: wear added, dirt not
  double wear = 0.0;     ///< [m] that the bore has gained
  double length = 0.0;   ///< [m]
  double blocked = 0.0;  ///< [-] share of its area lost to dirt
};

struct HoleRowSize {
  double height = 0.0;    ///< [m] above the bowl joint face
  double diameter = 0.0;  ///< [m]
  double count = 0.0;     ///< [-]
};

struct PortSize {
  double position = 0.0;  ///< [m] upstream of the throttle shaft's plane
  double diameter = 0.0;  ///< [m]
};

/// One fuel-and-air channel: the slow circuit, or the cold-start enrichment.
struct ChannelSize {
  JetSize jet;
  JetSize air_jet;
  double height = 0.0;            ///< [m] above the bowl joint face
  double passage_diameter = 0.0;  ///< [m]
  double volume = 0.0;            ///< [m3]
};

/// A curve given by points, held constant outside them.
struct Curve {
  std::vector<double> x, y;
  double at(double where) const;
};

/// What a picture to scale needs of a case. SI; heights above the bowl joint face (the bowl's mating face).
/// Parts that are not fitted keep their numbers and say so in their flag.
struct DrawingDimensions {
  bool vacuum_piston = false;  ///< constant-depression carburetor; else a fixed venturi

  // Bore, from the air horn to the throttle plate.
  double bore = 0.0;           ///< [m] at the throttle plate
  double bore_length = 0.0;    ///< [m]
  double mixing_volume = 0.0;  ///< [m3]
  double shaft = 0.0;          ///< [m]
  double closed_angle = 0.0;   ///< [rad] of the plate that would seal
  double open_angle = 0.0;     ///< [rad]
  double idle_stop = 0.0;      ///< [rad]
  double venturi = 0.0;        ///< [m] diameter of a fixed venturi
  bool choke_fitted = false;
  double choke_bore = 0.0;  ///< [m]

  // Vacuum piston and needle.
  double slide_diameter = 0.0;      ///< [m]
  double diaphragm_diameter = 0.0;  ///< [m]
  double piston_travel = 0.0;       ///< [m]
  double piston_rest_gap = 0.0;     ///< [m]
  double piston_mass = 0.0;         ///< [kg]
  double chamber_volume = 0.0;      ///< [m3] above the diaphragm at full lift
  double vent_diameter = 0.0;       ///< [m]
  double vent_count = 0.0;
  double needle_jet = 0.0;     ///< [m]
  double needle_raised = 0.0;  ///< [m]
  Curve needle;                ///< [m] diameter over [m] distance from the jet's mouth, piston down

  // Bowl, pump and fuel circuits.
  double bowl_area = 0.0, bowl_depth = 0.0, bowl_rim = 0.0, bowl_set_level = 0.0;
  double float_area = 0.0, lever_ratio = 0.0, seat_bore = 0.0;
  bool bowl_vented_to_airbox = false;
  JetSize main_jet, main_air_jet;
  double well_diameter = 0.0, tube_diameter = 0.0, well_section = 0.0;  ///< section [m2] that holds fuel
  double well_foot = 0.0, nozzle_lip = 0.0;
  double riser_diameter = 0.0, nozzle_diameter = 0.0;
  std::vector<HoleRowSize> holes;
  ChannelSize slow;
  bool slow_from_well = true;
  double screw_turns = 0.0, screw_seat_bore = 0.0, screw_pitch = 0.0;
  std::vector<PortSize> ports;
  bool pump_fitted = false;
  double pump_diameter = 0.0, pump_stroke = 0.0, pump_nozzle_height = 0.0;
  double pump_inlet_area = 0.0;  ///< [m2] effective, of the open inlet check
  JetSize pump_nozzle;
  bool enrichment_fitted = false;
  ChannelSize enrichment;

  // Gas path and engine.
  double airbox_volume = 0.0, inlet_diameter = 0.0, inlet_length = 0.0;
  double manifold_volume = 0.0;
  double runner_length = 0.0, runner_diameter = 0.0;
  int runner_cells = 1;
  double exhaust_volume = 0.0, exhaust_diameter = 0.0, exhaust_length = 0.0;
  double cylinder_bore = 0.0, stroke = 0.0, rod = 0.0, compression_ratio = 1.0;
  std::vector<double> firing;                                ///< [rad], one per cylinder
  double intake_valve = 0.0, exhaust_valve = 0.0;            ///< [m] heads
  double intake_valve_lift = 0.0, exhaust_valve_lift = 0.0;  ///< [m]

  // Fuel.
  double fuel_density = 0.0;          ///< [kg/m3] at body temperature
  double stoichiometric_ratio = 0.0;  ///< [-] kg air per kg fuel
};

/// Reads the geometry from a case as TOML text, such as a trace keeps.
/// Errors   `Error` of kind `case_file` when this program cannot read that case.
DrawingDimensions read_geometry(const std::string& case_text);

/// Height of piston crown below its top dead centre [m] at a crank angle [rad] from it.
double piston_drop(const DrawingDimensions& geometry, double angle);

}  // namespace glassbowl::sim
