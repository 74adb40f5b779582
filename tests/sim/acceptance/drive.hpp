#pragma once
#include <functional>
#include <string>
#include <vector>

#include "sim/bike/resolved_case.hpp"
#include "sim/run/stop_points.hpp"
#include "sim/solver/simulation.hpp"

/// Shipped runs, driven from a test: whole, in pieces, or at points that have settled.
namespace glassbowl::sim {

using Sets = std::vector<std::string>;

/// A shipped run, with overrides.
ResolvedCase shipped(const std::string& name, const Sets& sets = {});

/// All shipped runs by name.
std::vector<std::string> shipped_runs();

/// A shipped run cut down to a few seconds that still hold its events, with overrides.
ResolvedCase shortened(const std::string& name, const Sets& sets = {});

/// Both lists, one after the other.
Sets joined(Sets first, const Sets& second);

/// A case under way. Steps land on the corners of its schedules, as those of the program do.
class Drive {
 public:
  /// Stands at minus the case's settling time.
  explicit Drive(const ResolvedCase& resolved);

  Simulation& simulation() { return simulation_; }
  const StateMap& states() const { return simulation_.network().states(); }
  double stoichiometric() const { return simulation_.network().bike().fuel.stoichiometric_ratio; }

  /// Advances to `time` [s]; false when the engine stalled.
  bool to(double time, const std::function<void(const Cycle&)>& on_cycle = {});
  /// The same, calling `look` every `interval` [s] and at the end.
  bool to(double time, double interval, const std::function<void(const Outputs<double>&)>& look);

 private:
  Simulation simulation_;
  StopPoints stops_;
};

/// Means over several whole cycles, weighted by their duration.
struct Means {
  double lambda = 0.0;                   ///< [-] at the carburetor
  double trapped = 0.0;                  ///< [-] all cylinders
  double richest = 0.0, leanest = 0.0;   ///< [-] trapped, of single cylinders
  double air = 0.0, fuel = 0.0;          ///< [kg/s]
  std::vector<double> outlets;           ///< [kg/s] idle, ports, main, pump, enrichment
  double indicated = 0.0, torque = 0.0;  ///< [N m]
  double speed = 0.0, power = 0.0;       ///< [rad/s], [W]
  double lift = 0.0;                     ///< [m]
  double share(std::size_t outlet) const { return outlets[outlet] / fuel; }
  std::size_t ports() const { return outlets.size() - 4; }
  std::size_t main() const { return outlets.size() - 3; }
};
Means mean_of(const std::vector<Cycle>& cycles, double stoichiometric);

/// A held engine at an opening [%] and speed [1/min] on the bike of a shipped run, after `settle` seconds;
/// means over half a second.
Means steady_point(const std::string& run, double opening, double speed, const Sets& sets = {},
                   double settle = 4.0);

/// The same at rising openings [%], each held for `hold` seconds after the one before it; means over the
/// last two fifths of that.
std::vector<Means> steady_sweep(const std::string& run, const std::vector<double>& openings, double speed,
                                const Sets& sets = {}, double hold = 1.5);

/// Standard atmosphere's temperature, as an override for a case at `altitude` [m].
Sets at_altitude(double altitude);

}  // namespace glassbowl::sim
