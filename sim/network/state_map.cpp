#include "sim/network/state_map.hpp"

namespace glassbowl::sim {
namespace {

std::string one(std::size_t k) {
  return std::to_string(k + 1);
}

StateName named(const std::string& prefix, const m::StateMeaning& s, const std::string& part) {
  return {prefix + std::string(s.name),
          std::string(s.unit),
          std::string(s.long_name),
          part,
          s.nominal,
          s.lower,
          false,
          s.kept};
}

Volumes place_volumes(const StateMap::Parts& parts, const std::vector<std::string>& carburetor) {
  Volumes v;
  v.cells = parts.cells;
  v.runners = {1 + 2 * carburetor.size(), parts.cylinders * parts.cells};
  v.cylinders = {v.runners.end(), parts.cylinders};
  v.exhausts = {v.cylinders.end(), parts.cylinders};
  v.silencer = v.exhausts.end();
  v.count = v.silencer + 1;

  v.names = {"airbox"};
  for (const auto& number : carburetor)
    for (const char* name : {"mixing", "manifold"}) v.names.push_back(name + number);
  for (std::size_t k = 0; k < parts.cylinders; ++k)
    for (std::size_t i = 0; i < parts.cells; ++i)
      v.names.push_back("runner_" + one(k) + (parts.cells > 1 ? "_" + one(i) : ""));
  for (std::size_t k = 0; k < parts.cylinders; ++k) v.names.push_back("cylinder_" + one(k));
  for (std::size_t k = 0; k < parts.cylinders; ++k) v.names.push_back("exhaust_" + one(k));
  v.names.emplace_back("silencer");
  return v;
}

Passages place_passages(const Volumes& v, const std::vector<CarburetorStates>& carburetors,
                        const std::vector<std::string>& number) {
  Passages p;
  p.cells = v.cells;
  p.runners = {1 + 2 * carburetors.size(), v.runners.count};
  p.intake_valves = {p.runners.end(), v.cylinders.count};
  p.exhaust_valves = {p.intake_valves.end(), v.cylinders.count};
  p.exhaust_pipes = {p.exhaust_valves.end(), v.cylinders.count};
  p.outlet = p.exhaust_pipes.end();
  p.count = p.outlet + 1;

  p.ends = {{"filter", outside, Volumes::airbox}};
  for (std::size_t c = 0; c < carburetors.size(); ++c) {
    p.ends.push_back({"bore" + number[c], Volumes::airbox, carburetors[c].mixing});
    p.ends.push_back({"plate" + number[c], carburetors[c].mixing, carburetors[c].manifold});
  }
  for (std::size_t k = 0; k < v.cylinders.count; ++k)
    for (std::size_t i = 0; i < v.cells; ++i)
      p.ends.push_back({v.names[v.runner(k, i)] + "_inlet",
                        i == 0 ? carburetors.front().manifold : v.runner(k, i - 1), v.runner(k, i)});
  for (std::size_t k = 0; k < v.cylinders.count; ++k)
    p.ends.push_back({"intake_valve_" + one(k), v.port(k), v.cylinders[k]});
  for (std::size_t k = 0; k < v.cylinders.count; ++k)
    p.ends.push_back({"exhaust_valve_" + one(k), v.cylinders[k], v.exhausts[k]});
  for (std::size_t k = 0; k < v.cylinders.count; ++k)
    p.ends.push_back({"exhaust_pipe_" + one(k), v.exhausts[k], v.silencer});
  p.ends.push_back({"outlet", v.silencer, outside});
  return p;
}

}  // namespace

template <template <class> class State>
StateHandle<State> StateMap::add(const std::string& part) {
  const StateHandle<State> handle(names.size());
  for (const auto& state : State<double>::states()) names.push_back(named(part + "_", state.meaning, part));
  return handle;
}

template <template <class> class State>
StateHandle<State> StateMap::add_totals(const std::string& of) {
  const StateHandle<State> handle(names.size());
  for (const auto& total : State<double>::states()) {
    const std::size_t i = add_total(std::string(total.meaning.name) + of, std::string(total.meaning.unit),
                                    std::string(total.meaning.long_name));
    if (total.meaning.kept == m::Kept::no) names[i].kept = m::Kept::no;
  }
  return handle;
}

std::size_t StateMap::add_total(const std::string& name, const std::string& unit,
                                const std::string& long_name) {
  names.push_back({"total_" + name, unit, long_name, "accumulators", 1.0, m::unbounded, true, m::Kept::wide});
  return names.size() - 1;
}

StateMap::StateMap(const Parts& parts) : cylinders(parts.cylinders) {
  // Parts of several carburetors are numbered.
  const std::size_t count = parts.carburetors.size();
  std::vector<std::string> number(count);
  for (std::size_t c = 0; c < count; ++c) {
    if (count > 1) number[c] = "_" + one(c);
    auto& places = carburetors.emplace_back();
    places.mixing = places.bore = 1 + 2 * c;
    places.manifold = places.plate = 2 + 2 * c;
  }
  volumes = place_volumes(parts, number);
  passages = place_passages(volumes, carburetors, number);

  crank = add<m::CrankState>("crank");
  gas = {names.size(), volumes.count};
  for (const auto& meaning : m::volume_states)
    for (const auto& name : volumes.names) names.push_back(named(name + "_", meaning, name));
  passages.flow = {names.size(), passages.count};
  for (const auto& passage : passages.ends) add<m::PassageState>(passage.name);
  tank = add<m::TankState>("tank");
  for (std::size_t c = 0; c < count; ++c) carburetors[c].bowl = add<m::BowlState>("bowl" + number[c]);
  for (std::size_t c = 0; c < count; ++c) carburetors[c].main = add<m::MainCircuitState>("main" + number[c]);
  for (std::size_t c = 0; c < count; ++c)
    carburetors[c].slow = add<m::EmulsionChannelState>("slow" + number[c]);
  for (std::size_t k = 0; k < cylinders; ++k) films.push_back(add<m::WallFilmState>("film_" + one(k)));
  for (std::size_t c = 0; c < count; ++c) {
    if (parts.carburetors[c].pump) carburetors[c].pump = add<m::PumpState>("pump" + number[c]);
    if (parts.carburetors[c].piston) carburetors[c].piston = add<m::VacuumPistonState>("piston" + number[c]);
    if (parts.carburetors[c].enrichment)
      carburetors[c].enrichment = add<m::EmulsionChannelState>("enrichment" + number[c]);
  }

  enthalpy = {names.size(), passages.count};
  for (const auto& passage : passages.ends)
    add_total(passage.name + "_enthalpy", "J", "enthalpy carried along " + passage.name);
  other_energy = {names.size(), volumes.count};
  for (const auto& name : volumes.names)
    add_total(name + "_energy", "J", "heat, work and liquids into " + name);
  totals = add_totals<EngineTotals>("");
  for (std::size_t c = 0; c < count; ++c) {
    carburetors[c].totals = add_totals<CarburetorTotals>(number[c]);
    carburetors[c].port_fuel = {names.size(), parts.carburetors[c].ports};
    for (std::size_t i = 0; i < parts.carburetors[c].ports; ++i)
      add_total("port_" + one(i) + "_fuel" + number[c], "kg", "fuel delivered by transfer port " + one(i));
  }
  size = names.size();
}

}  // namespace glassbowl::sim
