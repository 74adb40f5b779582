#pragma once
#include <array>
#include <vector>

#include "models/fuel/accelerator_pump.hpp"
#include "models/fuel/emulsion_channel.hpp"
#include "models/fuel/main_circuit.hpp"
#include "models/mixture/wall_film.hpp"
#include "sim/network/gas_columns.hpp"

/// What the stages of the right-hand side find besides rates: pressures, flows, areas. A stage is given what
/// it needs by the stages before it and returns one of these. They are kept in `Outputs` where somebody asks
/// for them, traces and the visualiser: no stage reads them back from there.
namespace glassbowl::sim {

/// The rider's hands and the air.
template <class Real>
struct Controls {
  Real throttle, choke, tap, starter;  ///< [-]
  Real altitude;                       ///< [m]
};

/// What the plate's angle decides.
template <class Real>
struct Plate {
  Real angle;  ///< [rad]
  Real area;   ///< [m²] effective
  Real edge;   ///< [m] upstream of the shaft
  Real gap;    ///< [m] to the wall
};

template <class Real>
struct Throat {
  Real area;        ///< [m²] of the opening
  Real effective;   ///< [m²] the same, CdA
  Real choke;       ///< [m²] effective area past the choke plate
  Real with_choke;  ///< [m²] effective area of both in series
};

/// Areas that one carburetor has in the gas path [m²], effective.
template <class Real>
struct CarburetorAreas {
  Real bore, plate;
};

/// Along the bore [Pa].
template <class Real>
struct BorePressures {
  Real inlet;       ///< behind the choke plate
  Real throat;      ///< static
  Real nozzle;      ///< static, at the main nozzle
  Real depression;  ///< airbox less nozzle
};

template <class Real>
struct BowlFeed {
  Real level;     ///< [m] above the bowl joint face
  Real pressure;  ///< [Pa] on the fuel
  Real feed;      ///< [kg/s] from the tank
  Real overflow;  ///< [kg/s]
};

/// An emulsion channel with its openings.
template <class Real>
struct ChannelOutputs {
  m::ChannelConditions<Real> channel;
  m::OutletFlow<Real> outlet;  ///< of the idle outlet, or of the enrichment's plunger
  Real air;                    ///< [kg/s] in by the air jet
};

template <class Real>
struct PistonOutputs {
  Real lift;              ///< [m]
  Real chamber_pressure;  ///< [Pa]
};

template <class Real>
struct CarburetorOutputs {
  Plate<Real> plate{};
  Throat<Real> throat{};
  BorePressures<Real> bore{};
  BowlFeed<Real> bowl{};
  Real nozzle_area{};  ///< [m²] effective, of main nozzle or needle's annulus
  m::MainCircuitFlows<Real> main{};
  m::PumpFlows<Real> pump{};
  ChannelOutputs<Real> slow{}, enrichment{};
  std::vector<m::OutletFlow<Real>> port;  ///< per transfer port, both sides of the plate's edge
  std::vector<Real> exposure;             ///< [-] per transfer port
  PistonOutputs<Real> piston{};
};

template <class Real>
struct CylinderOutputs {
  Real angle;         ///< [rad] 0..4π from its own firing top dead centre
  Real volume;        ///< [m³]
  Real intake_lift;   ///< [m]
  Real exhaust_lift;  ///< [m]
  Real burn_rate;     ///< [kg/s] fuel
  Real wall_heat;     ///< [W] gas to wall
};

/// At the crank.
template <class Real>
struct CrankOutputs {
  Real omega;                                ///< [rad/s]
  Real indicated, friction, brake, starter;  ///< [N m]
};

template <class Real>
struct Outputs {
  Controls<Real> controls{};
  m::Gas<Real> outside{};
  GasColumns<Real> gas;  ///< per volume; the last is the air outside
  std::vector<CarburetorOutputs<Real>> carburetor;
  std::vector<CylinderOutputs<Real>> cylinder;
  std::vector<m::FilmFlows<Real>> film;
  CrankOutputs<Real> crank{};
};

/// Cache of what the plate's angle decides: it changes slowly.
template <class Real>
struct PlateCache {
  Plate<Real> plate{Real(-1e9), Real(0), Real(0), Real(0)};
  std::vector<Real> exposure;  ///< [-] per transfer port
};

/// Room for what stages hand to one another, and caches. Made by a network, whose fixed volumes and areas
/// are in it: another network needs another one.
template <class Real>
struct Scratch {
  std::vector<Real> volume, per_volume;  ///< [m³], [1/m³]
  GasColumns<Real> gas;                  ///< per volume; the last is the air outside
  std::vector<Real> area;                ///< [m²] effective, per passage
  /// What flows along each passage: species [kg/s] and enthalpy [W].
  std::array<std::vector<Real>, m::species_count + 1> carried;
  // Per carburetor.
  std::vector<PlateCache<Real>> plate;
  std::vector<Throat<Real>> throat;
  std::vector<CarburetorAreas<Real>> openings;
  std::vector<std::vector<m::OutletFlow<Real>>> ports;
};

}  // namespace glassbowl::sim
