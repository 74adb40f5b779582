#pragma once
#include <cstddef>
#include <exception>
#include <memory>
#include <string>
#include <vector>

#include "sim/solver/march.hpp"
#include "sim/solver/simulation.hpp"

/// Several simulations advanced in lockstep, a lane of the processor's registers each. They must have the
/// same parts; all sizes, settings, faults, speeds and times may differ. Each does to the bit what it would
/// do on its own with the fixed step: neighbours, and which instruction set is used, make no difference.
namespace glassbowl::sim {

class LaneGroup {
 public:
  virtual ~LaneGroup() = default;
  virtual std::size_t size() const = 0;
  virtual bool single_rates() const = 0;  ///< whether it is for simulations with rates in single precision

  /// Puts a simulation on an empty lane, to be advanced over one leg; it must outlive its stay there. Only
  /// for fixed steps with rates of the group's precision and mixtures from the carburetor. Throws
  /// std::invalid_argument for others, and where its parts are not those of the simulations on other lanes
  /// (`same_parts`).
  virtual void put(std::size_t lane, const Leg& leg) = 0;
  virtual bool empty(std::size_t lane) const = 0;
  /// Takes a simulation off before its leg has ended; returns the leg, for another group to go on with.
  virtual Leg remove(std::size_t lane) = 0;

  /// Advances all until one or more have ended their leg, stalled or failed; takes those off and names them.
  struct Arrival {
    std::size_t lane;
    std::exception_ptr failure;
  };
  virtual std::vector<Arrival> advance() = 0;
};

/// Whether two bikes may go side by side: the same parts fitted in the same way, whatever their sizes.
bool same_parts(const Bike<double>& a, const Bike<double>& b);

/// A group for an instruction set ("scalar": one simulation by itself) and rates of a precision; by default
/// the chosen one. Throws Error (input) for one that is unknown or that the processor lacks.
std::unique_ptr<LaneGroup> make_lane_group(const std::string& instruction_set = {},
                                           bool single_rates = false);
/// The narrowest group that seats so many, or the default one if none does: a step takes the longer the wider
/// a group is, whether its lanes are occupied or not.
std::unique_ptr<LaneGroup> make_lane_group_for(std::size_t simulations, bool single_rates = false);

}  // namespace glassbowl::sim
