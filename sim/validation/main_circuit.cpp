#include "models/fuel/main_circuit.hpp"

#include <cmath>
#include <string>

#include "sim/validation/solve.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

constexpr double g0 = 9.80665;

m::MainCircuitBoundary<double> still_air() {
  m::MainCircuitBoundary<double> b{};
  b.bowl_pressure = b.air_pressure = b.nozzle_pressure = 101325.0;
  b.bowl_level = 0.0;
  b.nozzle_area = 1e-4;  // wide: the nozzle costs nothing
  b.fuel_density = 745.0;
  b.fuel_viscosity = 0.55e-6;
  b.surface_tension = 0.0;
  b.air_density = 1.2;
  b.response = 1e-3;
  return b;
}

/// Nozzle depression [Pa] at which fuel standing at the lip starts to move.
double onset(double lip, double surface_tension, double nozzle_diameter) {
  m::MainCircuit<> c;
  c.lip = lip;
  c.nozzle_diameter = nozzle_diameter;
  auto b = still_air();
  b.surface_tension = surface_tension;
  auto state = m::main_circuit_at_rest(c, 0.0, b.fuel_density);
  state.riser = b.fuel_density * m::riser_area(c) * (c.lip - c.foot);
  return find_root(
      [&](double depression) {
        b.nozzle_pressure = 101325.0 - depression;
        return m::evaluate_main_circuit(c, state, b).rate.riser_flow;
      },
      0.0, 1000.0);
}

/// Driving pressure [Pa] that surface tension takes from the bleed air at a hole, far above the threshold.
double bleed_threshold(double hole) {
  m::MainCircuit<> c;
  c.nozzle_diameter = 1e6;  // no surface tension at the nozzle
  c.tube.rows = {{0.1, hole, 8.0}};
  auto b = still_air();
  b.nozzle_pressure = 50e3;
  const auto state = m::main_circuit_at_rest(c, 0.0, b.fuel_density);
  const double inertance = c.air_jet.length / m::jet_area(c.air_jet);
  const double without = m::evaluate_main_circuit(c, state, b).rate.bleed_flow;
  b.surface_tension = 0.021;
  return (without - m::evaluate_main_circuit(c, state, b).rate.bleed_flow) * inertance;
}

/// Steady delivery [kg/s] of a 1.20 x 2.5 mm main jet with 3 kPa across it above the lip's head.
double steady_delivery(double air_jet_bore) {
  m::MainCircuit<> c;
  c.main_jet = {1.20e-3, 2.5e-3, 0.0, 0.0};
  c.air_jet = {air_jet_bore, 2.0e-3, 0.0, 0.0};
  c.riser_diameter = 8e-3;
  c.well_diameter = 14e-3;
  c.tube_diameter = 9e-3;
  c.lip = 0.005;
  c.tube.rows = {{-0.010, 1e-3, 8.0}, {-0.018, 1e-3, 8.0}};
  auto b = still_air();
  b.nozzle_pressure = 101325.0 - 3000.0 - 745.0 * g0 * c.lip;
  auto s = m::main_circuit_at_rest(c, 0.0, b.fuel_density);
  const double dt = 2e-5;
  double delivered = 0.0;
  const int steps = 150000;
  for (int i = 0; i < steps; ++i) {
    const auto f = m::evaluate_main_circuit(c, s, b);
    s.jet_flow += dt * f.rate.jet_flow;
    s.well += dt * f.rate.well;
    s.bleed_flow += dt * f.rate.bleed_flow;
    s.riser_flow += dt * f.rate.riser_flow;
    s.riser += dt * f.rate.riser;
    if (i >= steps - 25000) delivered += dt * f.nozzle_fuel;
  }
  return delivered / (25000 * dt);
}

}  // namespace

void check_main_circuit(std::vector<Row>& rows) {
  const Source head{"hydrostatics: lip 5 mm above the level, 745 kg/m3", "", Seen::derived};
  rows.push_back({"main_circuit",
                  "depression at which the nozzle starts to deliver",
                  head,
                  36.5,
                  onset(0.005, 0.0, 3e-3),
                  absolute(0.05, "printed digits"),
                  "Pa",
                  {}});
  rows.push_back({"main_circuit",
                  "rise of that depression by surface tension, 0.021 N/m at a 3 mm nozzle",
                  {"Laplace pressure, 4 sigma/d", "", Seen::derived},
                  28.0,
                  onset(0.005, 0.021, 3e-3) - onset(0.005, 0.0, 3e-3),
                  absolute(0.05, "printed digits"),
                  "Pa",
                  {}});
  rows.push_back({"main_circuit",
                  "capillary threshold of a 0.5 mm tube hole, 0.021 N/m",
                  {"Laplace pressure, 4 sigma/d", "", Seen::derived},
                  168.0,
                  bleed_threshold(0.5e-3),
                  relative(5e-3, "taken at a finite pressure"),
                  "Pa",
                  {}});

  // Fuel column: 40 mm of 4 mm bore above a jet of 1.2 mm bore and 4 mm length.
  m::MainCircuit<> column;
  column.foot = -0.035;
  column.lip = 0.005;
  column.riser_diameter = 4e-3;
  column.main_jet = {1.2e-3, 4e-3, 0.0, 0.0};
  auto b = still_air();
  b.bowl_pressure += 100.0;
  b.response = 0.0;  // what is numerical about a small passage aside
  const auto rest = m::main_circuit_at_rest(column, 0.0, b.fuel_density);
  rows.push_back({"main_circuit",
                  "inertance of jet and fuel column",
                  {"sum of length over area", "", Seen::derived},
                  6720.0,
                  100.0 / m::evaluate_main_circuit(column, rest, b).rate.jet_flow,
                  relative(1e-3, "printed digits"),
                  "1/m",
                  {}});

  // With next to no bleed the circuit is the simple carburetor: the jet under the throat's depression
  // less the lip's head.
  rows.push_back({"main_circuit",
                  "steady delivery of a 1.20 mm jet, 3 kPa, hardly any bleed air",
                  {"Lichtarowicz, Duggins & Markland, J. Mech. Eng. Sci. 7(2) 1965, 210-219",
                   "eq. 12 with gasoline", Seen::computed_seen},
                  1.923,
                  1000.0 * steady_delivery(0.15e-3),
                  relative(0.02, "a little bleed air and friction remain"),
                  "g/s",
                  {}});
  rows.push_back({"main_circuit",
                  "the same with the air jet plugged",
                  {"Lichtarowicz, Duggins & Markland, J. Mech. Eng. Sci. 7(2) 1965, 210-219",
                   "eq. 12 with gasoline", Seen::computed_seen},
                  1.923,
                  1000.0 * steady_delivery(0.0),
                  relative(0.02, "as above"),
                  "g/s",
                  {}});
  // With a bleed far wider than the riser's mouth of 8 mm the well is at air pressure and only the bowl's
  // head over the foot drives.
  m::MainCircuit<> foot;
  const m::Jet<> jet{1.20e-3, 2.5e-3, 0.0, 0.0};
  const double gravity = m::jet_flow(jet, 745.0 * g0 * -foot.foot, 745.0, 0.55e-6);
  rows.push_back({"main_circuit",
                  "steady delivery under 3 kPa with a 60 mm bleed: head of the bowl only",
                  {"hydrostatics with Lichtarowicz's discharge", "", Seen::derived},
                  1000.0 * gravity,
                  1000.0 * steady_delivery(60e-3),
                  relative(0.05, "a few millimetres stand in the well"),
                  "g/s",
                  {}});
}

}  // namespace glassbowl::validation
