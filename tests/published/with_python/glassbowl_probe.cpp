#include <cstdio>
#include <functional>
#include <iostream>
#include <map>
#include <sstream>
#include <stdexcept>
#include <string>
#include <vector>

#include "models/engine/combustion.hpp"
#include "models/engine/crank_geometry.hpp"
#include "models/fluids/atmosphere.hpp"
#include "models/fuel/jet.hpp"
#include "models/fuel/main_circuit.hpp"
#include "models/fuel/transfer_ports.hpp"
#include "models/gas/flow_function.hpp"
#include "models/throat/throttle_plate.hpp"
#include "models/throat/venturi.hpp"

// Values of the program's own functions, for comparison with other libraries.
//
//   glassbowl_probe < lines        each line a name and its arguments in SI; prints one number a line
//
// Ends with 2 and names the line when a name is unknown or the number of arguments is wrong.

namespace {

namespace m = glassbowl::models;
using Arguments = std::vector<double>;

struct Function {
  std::size_t arguments;
  std::function<double(const Arguments&)> value;
};

m::ThrottlePlate<> plate(const Arguments& a) {
  m::ThrottlePlate<> p;
  p.bore = a[0];
  p.shaft = a[1];
  p.closed_angle = a[2];
  return p;
}

const std::map<std::string, Function> functions{
    {"atmosphere_temperature",
     {1, [](const Arguments& a) { return m::standard_atmosphere(a[0]).temperature; }}},
    {"atmosphere_pressure", {1, [](const Arguments& a) { return m::standard_atmosphere(a[0]).pressure; }}},
    {"atmosphere_density",
     {1,
      [](const Arguments& a) {
        const auto air = m::standard_atmosphere(a[0]);
        return m::moist_air_density(0.0, air.temperature, air.pressure);
      }}},
    {"air_viscosity", {1, [](const Arguments& a) { return m::air_viscosity(a[0]); }}},
    // gamma
    {"critical_pressure_ratio", {1, [](const Arguments& a) { return 1.0 - m::GasFlow(a[0]).z_critical; }}},
    // gamma, CdA, p upstream, density upstream, p downstream
    {"orifice_flow",
     {5,
      [](const Arguments& a) {
        return m::orifice_flow(m::GasFlow(a[0]), a[1], a[2], a[3], a[4], a[3], 0.0);
      }}},
    // mass flow, density, stagnation pressure, CdA
    {"throat_depression",
     {4, [](const Arguments& a) { return m::throat_depression(a[0], a[1], a[2], a[3]); }}},
    // Reynolds number of the ideal velocity, length over bore
    {"jet_discharge", {2, [](const Arguments& a) { return m::jet_discharge(a[0], a[1]); }}},
    // bore, length, pressure difference, density, kinematic viscosity
    {"jet_flow",
     {5,
      [](const Arguments& a) {
        return m::jet_flow(m::Jet<>{a[0], a[1], 0.0, 0.0}, a[2], a[3], a[4]);
      }}},
    // bore, length, mass flow, density, kinematic viscosity
    {"jet_loss",
     {5,
      [](const Arguments& a) {
        return m::jet_loss(m::Jet<>{a[0], a[1], 0.0, 0.0}, a[2], a[3], a[4]);
      }}},
    // volume flow, head, length, density, kinematic viscosity
    {"bore_from_flow_rating",
     {5, [](const Arguments& a) { return m::bore_from_flow_rating(a[0], a[1], a[2], a[3], a[4]); }}},
    // superficial velocities of gas and liquid, diameter
    {"drift_flux_void", {3, [](const Arguments& a) { return m::drift_flux_void(a[0], a[1], a[2]); }}},
    // bore, shaft, closed angle, angle
    {"throttle_open_fraction",
     {4, [](const Arguments& a) { return m::throttle_open_fraction(plate(a), a[3]); }}},
    // diameter, position, edge
    {"port_exposure",
     {3,
      [](const Arguments& a) {
        return m::port_exposure(m::TransferPort<>{a[1], a[0]}, a[2]);
      }}},
    // bore, stroke, rod, compression ratio, angle
    {"cylinder_volume",
     {5,
      [](const Arguments& a) {
        return m::cylinder_volume(m::CrankGeometry<>{a[0], a[1], a[2], a[3]}, a[4]).volume;
      }}},
    {"cylinder_volume_slope",
     {5,
      [](const Arguments& a) {
        return m::cylinder_volume(m::CrankGeometry<>{a[0], a[1], a[2], a[3]}, a[4]).slope;
      }}},
    {"wiebe_fraction", {1, [](const Arguments& a) { return m::wiebe_fraction(a[0]); }}},
    {"wiebe_hazard", {1, [](const Arguments& a) { return m::wiebe_hazard(a[0]); }}},
};

double evaluate(const std::string& line) {
  std::istringstream words(line);
  std::string name;
  words >> name;
  const auto found = functions.find(name);
  if (found == functions.end()) throw std::runtime_error("no such function: " + line);
  Arguments arguments;
  for (double x; words >> x;) arguments.push_back(x);
  if (!words.eof() || arguments.size() != found->second.arguments)
    throw std::runtime_error("wants " + std::to_string(found->second.arguments) + " numbers: " + line);
  return found->second.value(arguments);
}

}  // namespace

int main() {
  try {
    for (std::string line; std::getline(std::cin, line);) std::printf("%.17g\n", evaluate(line));
  } catch (const std::exception& error) {
    std::fprintf(stderr, "glassbowl_probe: %s\n", error.what());
    return 2;
  }
  return 0;
}
