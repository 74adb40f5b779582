#pragma once
#include <cstddef>
#include <string>
#include <vector>

#include "models/gas/restriction.hpp"
#include "sim/bike/bike.hpp"
#include "sim/network/state_handle.hpp"

/// Where each state of the assembled bike lies in the flat vector, and what it is called.
namespace glassbowl::sim {

inline constexpr std::size_t outside = static_cast<std::size_t>(-1);  ///< the air around the bike

struct StateName {
  std::string name, unit, long_name, part;
  double nominal;
  double lower;
  bool accumulator;  ///< integrated with the states, and no rate depends on it
  m::Kept kept;
};

/// Gas volumes by their place among all of them.
struct Volumes {
  static constexpr std::size_t airbox = 0;
  IndexRange runners;  ///< all cells of the first cylinder's runner, then the next one's
  IndexRange cylinders, exhausts;
  std::size_t silencer = 0, count = 0, cells = 1;
  std::vector<std::string> names;

  std::size_t runner(std::size_t cylinder, std::size_t cell) const {
    return runners[cylinder * cells + cell];
  }
  std::size_t port(std::size_t cylinder) const { return runner(cylinder, cells - 1); }
  /// All before the intake valves.
  IndexRange intake() const { return {0, cylinders.begin}; }
};

/// Two ends of a gas passage: places of volumes, or `outside`.
struct Passage {
  std::string name;
  std::size_t from, to;
};

/// Gas passages by their place among all of them.
struct Passages {
  static constexpr std::size_t filter = 0;
  IndexRange runners;  ///< upstream of each cell
  IndexRange intake_valves, exhaust_valves, exhaust_pipes;
  std::size_t outlet = 0, count = 0, cells = 1;
  std::vector<Passage> ends;
  IndexRange flow;  ///< their states [kg/s]

  std::size_t runner(std::size_t cylinder, std::size_t cell) const {
    return runners[cylinder * cells + cell];
  }
};

/// Integrals over time since the start, of what a carburetor does. Beside them each transfer port's fuel.
template <class Real>
struct CarburetorTotals {
  Real overflowed;         ///< [kg]
  Real idle, main;         ///< [kg] fuel delivered
  Real pump, enrichment;   ///< [kg]
  Real air;                ///< [kg] bore, bleeds and air jets
  Real manifold_pressure;  ///< [Pa s]
  Real piston_lift;        ///< [m s]
  Real depression;         ///< [Pa s]

  static constexpr auto states() {
    using S = CarburetorTotals;
    return m::list_states<Real, S>(
        {{&S::overflowed, {"fuel_overflowed", "kg", "fuel out of the bowl's overflow", 1.0}},
         {&S::idle, {"idle_fuel", "kg", "fuel delivered by the idle outlet", 1.0}},
         {&S::main, {"main_fuel", "kg", "fuel delivered by the main nozzle", 1.0}},
         {&S::pump, {"pump_fuel", "kg", "fuel delivered by the accelerator pump", 1.0}},
         {&S::enrichment, {"enrichment_fuel", "kg", "fuel delivered by the cold-start enrichment", 1.0}},
         {&S::air, {"carburetor_air", "kg", "air out of the carburetor: bore, bleeds and air jets", 1.0}},
         {&S::manifold_pressure, for_means("manifold_pressure", "Pa s", "manifold pressure over time")},
         {&S::piston_lift, for_means("piston_lift", "m s", "piston lift over time")},
         {&S::depression, for_means("depression", "Pa s", "nozzle depression over time")}});
  }
  /// Of no use in a trace, whose cycle means say the same.
  static constexpr m::StateMeaning for_means(std::string_view name, std::string_view unit,
                                             std::string_view text) {
    return {name, unit, text, 1.0, m::unbounded, m::Holds::nothing, m::Kept::no};
  }
};

/// The same of gas path, cylinders and crank.
template <class Real>
struct EngineTotals {
  Real fuel_burned, fuel_exhausted, fuel_stood_off;          ///< [kg]
  Real air_filtered, air_exhausted, air_burned, air_leaked;  ///< [kg]
  Real speed;                                                ///< [rad]
  Real indicated_work, friction_work, brake_work;            ///< [J]

  static constexpr auto states() {
    using S = EngineTotals;
    constexpr auto for_means = &CarburetorTotals<Real>::for_means;
    return m::list_states<Real, S>(
        {{&S::fuel_burned, {"fuel_burned", "kg", "fuel burned", 1.0}},
         {&S::fuel_exhausted, {"fuel_exhausted", "kg", "unburned fuel out of the exhaust", 1.0}},
         {&S::fuel_stood_off, {"fuel_stood_off", "kg", "standoff: fuel lost out of the inlet", 1.0}},
         {&S::air_filtered, {"air_filtered", "kg", "air in through the filter", 1.0}},
         {&S::air_exhausted, {"air_exhausted", "kg", "unburned air out of the exhaust", 1.0}},
         {&S::air_burned, {"air_burned", "kg", "air burned", 1.0}},
         {&S::air_leaked, {"air_leaked", "kg", "air in through a manifold leak", 1.0}},
         {&S::speed, for_means("speed", "rad", "crank speed over time")},
         {&S::indicated_work, for_means("indicated_work", "J", "work of the gas on the pistons")},
         {&S::friction_work, for_means("friction_work", "J", "work lost to friction")},
         {&S::brake_work, for_means("brake_work", "J", "work at the crankshaft's output")}});
  }
};

/// One carburetor: its volumes and passages, and where its states lie.
struct CarburetorStates {
  std::size_t mixing, manifold;  ///< volumes
  std::size_t bore, plate;       ///< passages
  StateHandle<m::BowlState> bowl;
  StateHandle<m::MainCircuitState> main;
  StateHandle<m::EmulsionChannelState> slow, enrichment;
  StateHandle<m::PumpState> pump;
  StateHandle<m::VacuumPistonState> piston;
  StateHandle<CarburetorTotals> totals;
  IndexRange port_fuel;  ///< [kg] delivered by each transfer port
};

class StateMap {
 public:
  /// Which parts are fitted, and how many.
  struct CarburetorParts {
    std::size_t ports;
    bool pump, piston, enrichment;
    bool operator==(const CarburetorParts&) const = default;
  };
  struct Parts {
    std::size_t cylinders, cells;
    std::vector<CarburetorParts> carburetors;
    bool operator==(const Parts&) const = default;
  };
  template <class Real>
  static Parts parts_of(const Bike<Real>& bike) {
    const auto& carb = bike.carburetor;
    return {bike.engine.firing.size(),
            static_cast<std::size_t>(bike.path.runner_cells),
            {{carb.ports.size(), carb.pump.fitted, carb.kind == CarburetorKind::constant_depression,
              carb.enrichment.fitted}}};
  }
  explicit StateMap(const Parts& parts);

  std::size_t cylinders;
  Volumes volumes;
  Passages passages;

  StateHandle<m::CrankState> crank;
  GasStates gas;
  StateHandle<m::TankState> tank;
  std::vector<CarburetorStates> carburetors;
  std::vector<StateHandle<m::WallFilmState>> films;  ///< one per cylinder

  // Accumulators, after all other states.
  IndexRange enthalpy;      ///< [J] carried along each passage
  IndexRange other_energy;  ///< [J] into each volume: heat, work, liquids, air jets
  StateHandle<EngineTotals> totals;
  std::size_t accumulators_begin() const { return enthalpy.begin; }

  std::size_t size;
  std::vector<StateName> names;

 private:
  template <template <class> class State>
  StateHandle<State> add(const std::string& part);
  template <template <class> class State>
  StateHandle<State> add_totals(const std::string& of);
  std::size_t add_total(const std::string& name, const std::string& unit, const std::string& long_name);
};

}  // namespace glassbowl::sim
