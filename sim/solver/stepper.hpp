#pragma once
#include <functional>
#include <memory>
#include <vector>

#include "sim/bike/step_options.hpp"
#include "sim/network/state_map.hpp"

/// Two integrators over the same right-hand side: a fixed step for work, an error-controlled one as
/// reference.
namespace glassbowl::sim {

using State = std::vector<double>;
using Rates = std::function<void(const State& x, State& dx, double t)>;

class Stepper {
 public:
  virtual ~Stepper() = default;
  /// Takes one accepted step from x at t, not beyond `limit`: `next` becomes the state there. Returns the new
  /// time. `dx` holds the rates at t.
  /// Throws Error (solver) when no step succeeds, naming the states with the largest error.
  virtual double step(const Rates& rates, const State& x, const State& dx, double t, double limit,
                      State& next) = 0;
};

/// What a stepper must know of each state.
struct StateBounds {
  std::shared_ptr<const std::vector<StateName>> names;
  std::vector<double> nominal;  ///< scale of the tolerance; 0 for accumulators, which do not steer the step
  std::vector<double> lower;    ///< of masses; a step that passes below it was too long
};

/// What must hold after a fixed step: every state is a number, and no mass lies below its bound.
class StepCheck {
 public:
  StepCheck(double step, const StateBounds& bounds);
  /// Throws Error (solver) that names the first state for which it does not, after the step from t.
  void operator()(const State& x, double t) const;
  const std::vector<double>& lowest() const { return lowest_; }

 private:
  void complain(const State& x, double t) const;

  double step_;
  std::shared_ptr<const std::vector<StateName>> names_;
  std::vector<double> lowest_;
};

std::unique_ptr<Stepper> make_stepper(const StepOptions& options, StateBounds bounds);

}  // namespace glassbowl::sim
