#include "sim/network/layout.hpp"

#include "models/fuel/accelerator_pump.hpp"
#include "models/gas/restriction.hpp"
#include "models/gas/volume.hpp"

namespace glassbowl::sim {

std::size_t Layout::add(std::string part, const m::Slot& slot) {
  names.push_back({part + "_" + std::string(slot.name), std::string(slot.unit), std::string(slot.long_name),
                   part, slot.nominal, slot.lower, false});
  return names.size() - 1;
}

std::size_t Layout::add_total(std::string name, std::string unit, std::string long_name) {
  names.push_back(
      {"total_" + std::move(name), std::move(unit), std::move(long_name), "ledger", 1.0, -1e300, true});
  return names.size() - 1;
}

Layout::Layout(const Parts& parts)
    : cylinders(parts.cylinders),
      cells(parts.cells),
      ports(parts.ports),
      volumes(4 + cylinders * (cells + 2)),
      faces(4 + cylinders * (cells + 3)) {
  const auto one = [](std::size_t k) { return std::to_string(k + 1); };
  volume_names = {"airbox", "mixing", "manifold"};
  for (std::size_t k = 0; k < cylinders; ++k)
    for (std::size_t i = 0; i < cells; ++i)
      volume_names.push_back("runner_" + one(k) + (cells > 1 ? "_" + one(i) : ""));
  for (std::size_t k = 0; k < cylinders; ++k) volume_names.push_back("cylinder_" + one(k));
  for (std::size_t k = 0; k < cylinders; ++k) volume_names.push_back("exhaust_" + one(k));
  volume_names.push_back("silencer");

  connections = {{"filter", outside, airbox}, {"bore", airbox, mixing}, {"plate", mixing, manifold}};
  for (std::size_t k = 0; k < cylinders; ++k)
    for (std::size_t i = 0; i < cells; ++i)
      connections.push_back({"runner_" + one(k) + (cells > 1 ? "_" + one(i) : "") + "_inlet",
                             i == 0 ? manifold : runner_cell(k, i - 1), runner_cell(k, i)});
  for (std::size_t k = 0; k < cylinders; ++k)
    connections.push_back({"intake_valve_" + one(k), port_cell(k), cylinder(k)});
  for (std::size_t k = 0; k < cylinders; ++k)
    connections.push_back({"exhaust_valve_" + one(k), cylinder(k), exhaust(k)});
  for (std::size_t k = 0; k < cylinders; ++k)
    connections.push_back({"exhaust_pipe_" + one(k), exhaust(k), silencer()});
  connections.push_back({"outlet", silencer(), outside});

  crank_angle =
      add("crank", {"angle", "rad", "crank angle from firing top dead centre of cylinder 1", 1.0, -1e300});
  crank_speed = add("crank", {"speed", "rad/s", "crank speed", 100.0, -1e300});
  volume_begin = names.size();
  for (const auto& slot : m::volume_slots)
    for (const auto& name : volume_names) add(name, slot);
  face_begin = names.size();
  for (const auto& face : connections) add(face.name, m::restriction_slots[0]);
  // A full tank's kilograms would round off the milligrams that leave it.
  tank = add("tank", {"fuel_change", "kg", "change of the fuel in the tank since the start", 1.0, -1e300});
  bowl = add("bowl", m::bowl_slots[0]);
  main = names.size();
  for (const auto& slot : m::main_circuit_slots) add("main", slot);
  slow = names.size();
  for (const auto& slot : m::emulsion_channel_slots) add("slow", slot);
  film_begin = names.size();
  for (std::size_t k = 0; k < cylinders; ++k) add("film_" + one(k), m::wall_film_slots[0]);
  pump = piston = enrichment = absent;
  if (parts.pump) pump = add("pump", m::accelerator_pump_slots[0]);
  if (parts.piston) {
    piston = names.size();
    for (const auto& slot : m::vacuum_piston_slots) add("piston", slot);
  }
  if (parts.enrichment) {
    enrichment = names.size();
    for (const auto& slot : m::emulsion_channel_slots) add("enrichment", slot);
  }

  ledger_begin = face_enthalpy = names.size();
  for (const auto& face : connections)
    add_total(face.name + "_enthalpy", "J", "enthalpy carried along " + face.name);
  other_energy = names.size();
  for (const auto& name : volume_names)
    add_total(name + "_energy", "J", "heat, work and liquids into " + name);
  fuel_burned = add_total("fuel_burned", "kg", "fuel burned");
  fuel_exhausted = add_total("fuel_exhausted", "kg", "unburned fuel out of the exhaust");
  fuel_stood_off = add_total("fuel_stood_off", "kg", "fuel blown back out of the inlet");
  fuel_overflowed = add_total("fuel_overflowed", "kg", "fuel out of the bowl's overflow");
  air_filtered = add_total("air_filtered", "kg", "air in through the filter");
  air_exhausted = add_total("air_exhausted", "kg", "unburned air out of the exhaust");
  air_burned = add_total("air_burned", "kg", "air burned");
  air_leaked = add_total("air_leaked", "kg", "air in through a manifold leak");
  by_idle = add_total("idle_fuel", "kg", "fuel delivered by the idle outlet");
  by_port = names.size();
  for (std::size_t i = 0; i < ports; ++i)
    add_total("port_" + one(i) + "_fuel", "kg", "fuel delivered by transfer port " + one(i));
  by_main = add_total("main_fuel", "kg", "fuel delivered by the main nozzle");
  by_pump = add_total("pump_fuel", "kg", "fuel delivered by the accelerator pump");
  by_enrichment = add_total("enrichment_fuel", "kg", "fuel delivered by the cold-start enrichment");
  carburetor_air = add_total("carburetor_air", "kg", "air out of the carburetor: bore, bleeds and air jets");
  manifold_pressure = add_total("manifold_pressure", "Pa s", "manifold pressure over time");
  piston_lift = add_total("piston_lift", "m s", "piston lift over time");
  speed = add_total("speed", "rad", "crank speed over time");
  depression = add_total("depression", "Pa s", "nozzle depression over time");
  indicated_work = add_total("indicated_work", "J", "work of the gas on the pistons");
  friction_work = add_total("friction_work", "J", "work lost to friction");
  brake_work = add_total("brake_work", "J", "work at the crankshaft's output");
  size = names.size();
}

}  // namespace glassbowl::sim
