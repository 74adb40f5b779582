#pragma once
#include <cstddef>
#include <string>
#include <vector>

#include "models/engine/combustion.hpp"
#include "models/engine/crank_geometry.hpp"
#include "models/engine/friction.hpp"
#include "models/engine/load.hpp"
#include "models/engine/valve_lift.hpp"
#include "models/fluids/fuel.hpp"
#include "models/fuel/accelerator_pump.hpp"
#include "models/fuel/bowl.hpp"
#include "models/fuel/emulsion_channel.hpp"
#include "models/fuel/main_circuit.hpp"
#include "models/fuel/mixture_screw.hpp"
#include "models/fuel/tank_feed.hpp"
#include "models/fuel/transfer_ports.hpp"
#include "models/mixture/wall_film.hpp"
#include "models/numerics/schedule.hpp"
#include "models/throat/choke_plate.hpp"
#include "models/throat/needle.hpp"
#include "models/throat/throttle_plate.hpp"
#include "models/throat/vacuum_piston.hpp"
#include "models/throat/venturi.hpp"

/// Everything that describes a bike, its air and its rider: parameters only, SI units. The case reader
/// fills it; the network reads it.
namespace glassbowl::sim {

namespace m = glassbowl::models;

inline constexpr std::size_t max_cylinders = 8;
inline constexpr double fresh_gamma = 1.40;  ///< [-] ratio of heat capacities of fresh charge
inline constexpr double spent_gamma = 1.33;  ///< [-] of exhaust gas

template <class Real>
Real circle(Real diameter) {
  return 0.25 * m::constants::pi * diameter * diameter;
}

enum class CarburetorKind { fixed_venturi, constant_depression };
enum class SlowSource { well, bowl };

template <class Real = double>
struct GasPath {
  Real airbox_volume{};         ///< [m³]
  Real filter_area{};           ///< [m²] effective area of a clean filter
  Real filter_clogged{};        ///< [-] share of it lost to dirt
  Real inlet_length{};          ///< [m] snorkel through the filter
  Real inlet_diameter{};        ///< [m]
  Real bore_length{};           ///< [m] air horn to throttle plate
  Real mixing_volume{};         ///< [m³] bore between throat and plate
  Real manifold_volume{};       ///< [m³] plate to runners
  Real manifold_wall{};         ///< [K]
  Real manifold_conductance{};  ///< [W/K] gas to wall
  Real manifold_leak{};         ///< [m²] effective area of an air leak
  Real runner_length{};         ///< [m]
  Real runner_diameter{};       ///< [m]
  int runner_cells = 1;
  Real runner_conductance{};   ///< [W/K] per runner
  Real exhaust_volume{};       ///< [m³] per cylinder, port and pipe
  Real exhaust_length{};       ///< [m] gas column to the silencer
  Real exhaust_diameter{};     ///< [m]
  Real silencer_volume{};      ///< [m³] shared by all cylinders
  Real silencer_area{};        ///< [m²] effective area of its outlet
  Real exhaust_wall{};         ///< [K]
  Real exhaust_conductance{};  ///< [W/K]
  Real drop_time{};            ///< [s] droplet lifetime in dry air
  Real response{};             ///< [s] shortest response of a passage
};

template <class Real = double>
struct Engine {
  m::CrankGeometry<Real> crank;
  std::vector<Real> firing;  ///< [rad] firing angle of each cylinder, first 0
  m::Valve<Real> intake;
  m::Valve<Real> exhaust;
  m::Combustion<Real> combustion;
  m::Friction<Real> friction;
  Real inertia{};           ///< [kg m²] crank, flywheel, clutch
  Real wall_temperature{};  ///< [K]
  Real heat_factor{};       ///< [-] on the wall heat coefficient
  Real starter_torque{};    ///< [N m] at standstill
  Real starter_speed{};     ///< [rad/s] at which it stops pulling
};

template <class Real = double>
struct Enrichment {
  bool fitted = false;
  m::EmulsionChannel<Real> channel;
  Real plunger_area{};  ///< [m²] effective outlet area, plunger fully lifted
};

template <class Real = double>
struct Carburetor {
  CarburetorKind kind = CarburetorKind::fixed_venturi;
  m::ThrottlePlate<Real> throttle;
  Real idle_stop{};  ///< [rad] plate angle on its stop
  Real fast_idle{};  ///< [rad] added by a fully closed choke
  m::ChokePlate<Real> choke;
  m::Venturi<Real> venturi;
  m::VacuumPiston<Real> piston;
  m::Needle<Real> needle;
  m::TankFeed<Real> feed;
  m::Bowl<Real> bowl;
  m::MainCircuit<Real> main;
  m::EmulsionChannel<Real> slow;
  SlowSource slow_source = SlowSource::well;
  m::MixtureScrew<Real> screw;
  std::vector<m::TransferPort<Real>> ports;
  m::AcceleratorPump<Real> pump;
  Enrichment<Real> enrichment;
  Real body_temperature{};  ///< [K] of the fuel and the passages
};

/// Air outside over the ride: altitude may be a schedule in time (a climb).
template <class Real = double>
struct Air {
  m::Schedule<Real> altitude;        ///< [m] over [s]
  Real warmer = Real(0);             ///< [K] above the standard temperature of each altitude
  Real relative_humidity = Real(0);  ///< [-]
};

/// The rider's hands, as schedules over time [s].
template <class Real = double>
struct Rider {
  m::Schedule<Real> throttle;  ///< [-] 0 on the stop .. 1 wide open
  m::Schedule<Real> choke;  ///< [-] 0 open .. 1 shut (choke plate), or enrichment plunger 0 down .. 1 lifted
  m::Schedule<Real> tap;    ///< [-] 0 shut .. 1 open
  m::Schedule<Real> starter;  ///< [-] 0 off .. 1 on
};

template <class Real = double>
struct Bike {
  GasPath<Real> path;
  Engine<Real> engine;
  Carburetor<Real> carburetor;
  m::WallFilm<Real> film;
  m::Fuel<Real> fuel;
  m::Load<Real> load;
  Air<Real> air;
  Rider<Real> rider;
};

}  // namespace glassbowl::sim
