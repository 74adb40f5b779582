#pragma once
#include <vector>

#include "viz/source/source.hpp"

namespace glassbowl::viz {

/// Channels that the drawings use, looked up once by name; `no_channel` where a trace lacks one.
struct Signals {
  explicit Signals(const Source& source);

  int crank_angle, speed, throttle, choke, tap, altitude, ambient_pressure;
  int plate_angle, plate_area, lambda;
  int airbox_pressure, inlet_pressure, throat_pressure, nozzle_pressure, mixing_pressure, manifold_pressure;
  int filter_flow, bore_flow, plate_flow;
  int throat_area, piston_lift, chamber_pressure, depression, needle_area;
  int bowl_level, feed_flow, overflow_flow;
  int main_flow, main_jet_flow, riser_flow, riser_fuel, bleed_air, well_level, void_fraction, uncovered;
  int idle_flow, idle_air, slow_jet_flow, slow_air, slow_riser, slow_share, slow_channel_fuel;
  int cycle_idle, cycle_main, cycle_pump, cycle_enrichment;  ///< means over the cycle
  std::vector<int> cycle_port;
  std::vector<int> port_flow, port_air, port_exposure;
  int pump_flow, pump_inlet, pump_travel;
  int enrichment_flow, enrichment_jet_flow, enrichment_air;
  int air_flow, fuel_flow;

  /// Masses of gas in one volume: air, vapour, droplets, burned.
  struct Volume {
    int air = no_channel, vapour = no_channel, droplets = no_channel, burned = no_channel;
    int pressure = no_channel, temperature = no_channel;
  };
  Volume airbox, mixing, manifold;
  std::vector<std::vector<Volume>> runner;  ///< per cylinder, per cell
  std::vector<Volume> cylinder, exhaust;
  std::vector<std::vector<int>> runner_flow;  ///< per cylinder, into each cell
  std::vector<int> intake_flow, exhaust_flow, intake_lift, exhaust_lift, burn_rate, trapped_lambda, film,
      film_deposited, film_evaporated;
};

/// Mass of gas in a volume [kg] and its density when `size` [m3] is known.
double gas_mass(const Instant& now, const Signals::Volume& volume);

}  // namespace glassbowl::viz
