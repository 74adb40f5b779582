#pragma once
#include <functional>
#include <memory>
#include <vector>

#include "sim/network/network.hpp"
#include "sim/network/single_precision_rates.hpp"
#include "sim/solver/cycle.hpp"
#include "sim/solver/stepper.hpp"

/// One bike, advanced in time. Between steps it handles events (events.cpp).
namespace glassbowl::sim {

using CycleListener = std::function<void(const Cycle&)>;

class Simulation {
 public:
  Simulation(const Bike<double>& bike, const StepOptions& options);
  Simulation(const Simulation& other);
  Simulation& operator=(const Simulation&) = delete;

  /// Advances to `limit` [s]; calls `on_cycle` for each cycle that ends on the way. Returns false when
  /// the engine stalled (below a third of the starter's speed with the starter off).
  bool advance(double limit, const CycleListener& on_cycle = {});

  /// From here on every cylinder draws air with this much fuel vapour in it, whatever the circuits do:
  /// the yardstick that a carburetor's lag is measured against. 0 switches back.
  void use_ideal_mixture(double lambda);

  /// Goes on from the present state with other parameters: a jet changed, a hand moved. The bike must have
  /// the same parts, so that its states keep their places; std::invalid_argument if not.
  void change_bike(const Bike<double>& bike);

  /// Goes on with steps of another kind or length.
  void use_steps(const StepOptions& options);

  /// For a stepper outside, which has taken one step: room for the states before it, the rates there and the
  /// states now, to be filled in. Then `arrive` handles the events between.
  struct StepEnds {
    State &before, &rates_before, &now;
  };
  StepEnds begin_arrival();
  void arrive(double t_before, double t, const CycleListener& on_cycle);
  /// Crank angle [rad] up to which no event can fall, so that such a stepper need not report.
  double quiet_until() const;
  const StepOptions& step_options() const { return options_; }
  const StepCheck& step_check() const { return check_; }

  double time() const { return t_; }
  void set_time(double t) {
    rates_valid_ = false;
    t_ = t;
  }
  const State& state() const { return x_; }
  State& state() {
    rates_valid_ = false;
    return x_;
  }
  const Network<double>& network() const { return *network_; }
  const std::shared_ptr<const Network<double>>& shared_network() const { return network_; }
  const DiscreteState<double>& discrete() const { return discrete_; }
  const std::vector<Trapped>& trapped() const { return trapped_; }
  /// Pressures and flows at the present time.
  const Outputs<double>& outputs();
  /// Rates of change of all states at the present time, accumulators included; valid after `outputs`, until
  /// the next advance.
  const State& derivative() const { return dx_; }
  bool stalled() const { return stalled_; }
  long cycles() const { return cycle_number_; }
  long misfires() const { return misfires_; }
  long evaluations() const { return evaluations_; }

 private:
  Rates rates_of_network();
  void refresh_rates();

  // Events.
  struct StepTaken {
    double t_before, t;
    double angle_before, angle;  // [rad] of the crank
    double omega;                // [rad/s] mean
  };
  struct Event;
  static const Event events[];
  void handle_events(double t_before, const CycleListener& on_cycle);
  void read_charge(const StepTaken& step, std::size_t cylinder, const CycleListener& on_cycle);
  void decide_spark(const StepTaken& step, std::size_t cylinder, const CycleListener& on_cycle);
  void end_cycle(const StepTaken& step, std::size_t, const CycleListener& on_cycle);
  bool stalls(const StepTaken& step) const;
  void stall(const StepTaken& step, std::size_t, const CycleListener& on_cycle);
  bool runs(const StepTaken& step) const;
  void note_running(const StepTaken& step, std::size_t, const CycleListener& on_cycle);

  std::shared_ptr<const Network<double>> network_;
  std::unique_ptr<SingleRates> single_;  // made when first asked
  StepOptions options_;
  std::unique_ptr<Stepper> stepper_;
  StepCheck check_;
  Rates rates_;
  State x_, dx_, x_before_, dx_before_;
  State between_;  // within the last step
  DiscreteState<double> discrete_;
  Outputs<double> outputs_;
  Scratch<double> scratch_;
  std::vector<Trapped> trapped_;
  Cycle cycle_;
  State cycle_start_;
  double cycle_start_time_ = 0.0;
  long cycle_number_ = 0;
  long misfires_ = 0;
  long evaluations_ = 0;
  double t_ = 0.0;
  bool rates_valid_ = false;
  bool cycle_open_ = false;
  bool stalled_ = false;
  bool has_run_ = false;
};

}  // namespace glassbowl::sim
