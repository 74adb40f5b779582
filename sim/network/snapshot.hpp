#pragma once
#include <array>
#include <vector>

#include "models/fuel/accelerator_pump.hpp"
#include "models/fuel/emulsion_channel.hpp"
#include "models/fuel/main_circuit.hpp"
#include "models/mixture/wall_film.hpp"
#include "sim/network/gas_columns.hpp"

/// All that one evaluation of the rates knows besides the states: pressures, flows, areas. The trace and
/// the visualiser read it. Its network puts into it, when it makes it, what never changes (fixed volumes and
/// areas); besides, the physics reads back only what the plate's last angle decided.
namespace glassbowl::sim {

template <class Real>
struct CylinderSnapshot {
  Real angle;         ///< [rad] 0..4π from its own firing top dead centre
  Real volume;        ///< [m³]
  Real intake_lift;   ///< [m]
  Real exhaust_lift;  ///< [m]
  Real burn_rate;     ///< [kg/s] fuel
  Real wall_heat;     ///< [W] gas to wall
};

template <class Real>
struct Snapshot {
  std::vector<Real> volume, per_volume;  ///< [m³], [1/m³]
  GasColumns<Real> gas;                  ///< per volume; the last is the air outside
  std::vector<Real> area;                ///< [m²] effective, per face
  /// What flows along each face: species [kg/s] and enthalpy [W].
  std::array<std::vector<Real>, m::species_count + 1> carried;
  std::vector<CylinderSnapshot<Real>> cylinder;
  std::vector<m::FilmFlows<Real>> film;
  std::vector<m::OutletFlow<Real>> port;  ///< per transfer port, both sides of the plate's edge
  std::vector<Real> exposure;             ///< [-] per transfer port
  m::Gas<Real> outside;
  Real throttle{}, plate_angle{}, choke{}, tap{}, altitude{};
  // What the plate's angle decides, and the angle it was found for: the rider's hand is slow.
  Real plate_area{};  ///< [m²] effective
  Real plate_edge{};  ///< [m] upstream of the shaft
  Real plate_gap{};   ///< [m] to the wall
  Real plate_found_at = Real(-1e9);
  Real inlet_pressure{}, throat_pressure{}, nozzle_pressure{}, depression{};
  Real throat_area{}, needle_area{};
  Real bowl_level{}, bowl_pressure{}, feed_flow{}, overflow{};
  m::MainCircuitFlows<Real> main{};
  m::ChannelConditions<Real> slow_channel{};
  m::OutletFlow<Real> idle{};
  Real slow_air{};
  m::PumpFlows<Real> pump{};
  m::ChannelConditions<Real> enrichment_channel{};
  m::OutletFlow<Real> enrichment{};
  Real enrichment_air{};
  Real lift{}, chamber_pressure{};
  Real omega{}, indicated_torque{}, friction_torque{}, brake_torque{}, starter_torque{};
};

}  // namespace glassbowl::sim
