#pragma once
#include <Eigen/Core>
#include <memory>
#include <vector>

#include "sim/solver/cycle.hpp"
#include "sim/solver/simulation.hpp"

/// The few states of a bike that need many cycles to settle, as coordinates of their own: what a search for
/// the cycle that repeats itself has to find. All others follow within two or three cycles.
namespace glassbowl::sim {

/// Coordinates: the wall films, the bowl's fuel, the fuel in main well, riser and slow channel, a vacuum
/// piston's lift and chamber, and the airbox's temperature and fractions of vapour, droplets and burned gas.
/// The airbox's pressure is none of them: it follows at once, and what is put back keeps it.
class SlowStates {
 public:
  /// `period` [s] of one cycle.
  SlowStates(const Simulation& simulation, double period);

  Eigen::VectorXd read(const State& x) const;
  void write(const Eigen::VectorXd& coordinates, State& x) const;

  /// How far a cycle's step goes on before it has died out, 1/(1 - e^{-T/τ}), where the time constant τ is
  /// known beforehand; 1 elsewhere. The films' τ is a mean over a cycle, the bowl's is measured at `x`, the
  /// airbox is a vessel that the cycle's air flows through; an error there costs cycles, not accuracy.
  Eigen::VectorXd reach(const Simulation& simulation, const State& x, const Cycle& cycle) const;

  /// What a unit of each coordinate counts in the mixture, about, found by trial; what the main circuit holds
  /// counts by the share that it delivers.
  Eigen::VectorXd weights(const Eigen::VectorXd& coordinates, const Cycle& cycle) const;

  /// `wanted`, numbers all, brought back to where it is physical and not too far from `found`.
  Eigen::VectorXd bounded(Eigen::VectorXd wanted, const Eigen::VectorXd& found) const;

 private:
  enum class Kind { film, bowl, main, channel, piston, temperature, fraction };
  struct Coordinate {
    Kind kind;
    std::size_t at;        // state, or species of the airbox
    double least, weight;  // size below which a value counts as small
  };
  void add(Kind kind, std::size_t at, double least, double weight) {
    coordinates_.push_back({kind, at, least, weight});
  }

  std::shared_ptr<const Network<double>> network_;  ///< outlives a change of bike
  const Bike<double>& bike_;
  const StateMap& states_;
  double period_;
  std::vector<Coordinate> coordinates_;
};

/// Fills the silencer with hot burned gas, as an engine has it that has been running.
void heat_silencer(const Simulation& simulation, State& x);

/// Takes the silencer's gas, which changed from `before` to `now` within a cycle, to where it was heading: it
/// is renewed by what flows through, as a stirred vessel is.
void settle_silencer(const Simulation& simulation, double period, const Cycle& cycle, const State& before,
                     State& now);

}  // namespace glassbowl::sim
