#include "sim/solver/steady_cycle.hpp"

#include <fmt/format.h>

#include <Eigen/Dense>
#include <algorithm>
#include <cmath>
#include <deque>

#include "models/constants.hpp"
#include "sim/api/error.hpp"

namespace glassbowl::sim {
namespace {

/// The states that must repeat, each in units of its nominal size: all but crank, tank and ledger.
class Measure {
 public:
  explicit Measure(const Layout& layout) {
    for (std::size_t i = 0; i < layout.ledger_begin; ++i) {
      if (i == layout.crank_angle || i == layout.crank_speed || i == layout.tank) continue;
      index_.push_back(i);
      nominal_.push_back(layout.names[i].nominal);
      lower_.push_back(layout.names[i].lower);
    }
  }
  Eigen::VectorXd pack(const State& x) const {
    Eigen::VectorXd out(static_cast<Eigen::Index>(index_.size()));
    for (std::size_t i = 0; i < index_.size(); ++i)
      out[static_cast<Eigen::Index>(i)] = x[index_[i]] / nominal_[i];
    return out;
  }
  void unpack(const Eigen::VectorXd& packed, State& x) const {
    for (std::size_t i = 0; i < index_.size(); ++i)
      x[index_[i]] = packed[static_cast<Eigen::Index>(i)] * nominal_[i];
  }
  /// Whether an extrapolated state is physical, and not far from the cycle it came from.
  bool acceptable(const Eigen::VectorXd& packed, const Eigen::VectorXd& plain) const {
    for (Eigen::Index i = 0; i < packed.size(); ++i) {
      const auto j = static_cast<std::size_t>(i);
      if (!std::isfinite(packed[i]) || packed[i] * nominal_[j] < lower_[j]) return false;
      if (lower_[j] == 0.0 && plain[i] > 0.0 &&
          (packed[i] > 5.0 * plain[i] + 1.0 || packed[i] < 0.2 * plain[i] - 0.01))
        return false;
    }
    return true;
  }

 private:
  std::vector<std::size_t> index_;
  std::vector<double> nominal_, lower_;
};

double relative_change(double a, double b, double floor) {
  return std::abs(a - b) / (std::max(std::abs(a), std::abs(b)) + floor);
}

/// Largest relative change of what users read of a cycle.
double change_of(const Cycle& a, const Cycle& b) {
  double change = std::max(relative_change(a.air_flow, b.air_flow, 1e-5),
                           relative_change(a.fuel_flow, b.fuel_flow, 1e-6));
  change = std::max(change, relative_change(a.indicated_torque, b.indicated_torque, 1.0));
  for (std::size_t k = 0; k < a.cylinders.size(); ++k)
    change = std::max(change, relative_change(a.cylinders[k].lambda, b.cylinders[k].lambda, 0.0));
  return change;
}

Eigen::VectorXd extrapolate(const std::deque<Eigen::VectorXd>& images,
                            const std::deque<Eigen::VectorXd>& residuals) {
  const auto columns = static_cast<Eigen::Index>(images.size()) - 1;
  Eigen::MatrixXd dF(images.back().size(), columns), dR(images.back().size(), columns);
  for (Eigen::Index j = 0; j < columns; ++j) {
    const auto k = static_cast<std::size_t>(j);
    dF.col(j) = images[k + 1] - images[k];
    dR.col(j) = residuals[k + 1] - residuals[k];
  }
  const Eigen::VectorXd gamma = dR.colPivHouseholderQr().solve(residuals.back());
  return images.back() - dF * gamma;
}

bool is_steady(const Bike<double>& bike) {
  return bike.load.kind == m::LoadKind::held_speed && bike.load.speed.is_constant() &&
         bike.rider.throttle.is_constant() && bike.rider.choke.is_constant() &&
         bike.rider.tap.is_constant() && bike.air.altitude.is_constant();
}

}  // namespace

March march_to_steady_cycle(Simulation& simulation, SteadyOptions options, SteadyCycle& out) {
  const auto& network = simulation.network();
  const auto& layout = network.layout();
  const auto& bike = network.bike();
  if (!is_steady(bike))
    throw Error(ErrorKind::input,
                "a steady cycle needs load.kind = \"held_speed\" with one speed, and one value each of "
                "throttle, choke, tap and altitude");
  const double period = 4.0 * m::constants::pi / bike.load.speed(0.0);
  const Measure measure(layout);
  const double tank = simulation.state()[layout.tank];

  Cycle latest;
  const std::function<void(const Cycle&)> keep = [&](const Cycle& cycle) { latest = cycle; };
  co_yield Leg{&simulation, simulation.time() + period, &keep};  // the first cycle only opens the account

  std::deque<Eigen::VectorXd> images, residuals;
  double best = INFINITY;
  int repeated = 0;
  int plain = options.memory > 0 ? 6 : options.most_cycles;  // cycles to march before extrapolating
  while (out.cycles < options.most_cycles) {
    const Cycle previous = latest;
    const Eigen::VectorXd before = measure.pack(simulation.state());
    co_yield Leg{&simulation, simulation.time() + period, &keep};
    ++out.cycles;
    simulation.state()[layout.tank] = tank;
    const Eigen::VectorXd image = measure.pack(simulation.state());
    const Eigen::VectorXd residual = image - before;
    const double size = residual.norm() / std::sqrt(static_cast<double>(residual.size()));
    out.change = std::max(change_of(previous, latest), size * 1e-2);
    out.cycle = latest;
    repeated = out.change < options.tolerance ? repeated + 1 : 0;
    if (repeated >= options.in_a_row) {
      out.converged = true;
      co_return;
    }
    // Once close, march plainly, so that what is judged is what the engine does.
    if (repeated > 0 || options.memory <= 0) {
      images.clear();
      residuals.clear();
      continue;
    }
    if (size > 3.0 * best) {  // got worse: forget, and let the fast modes die out
      images.clear();
      residuals.clear();
      plain = 4;
      best = size;
    }
    best = std::min(best, size);
    images.push_back(image);
    residuals.push_back(residual);
    if (static_cast<int>(images.size()) > options.memory + 1) {
      images.pop_front();
      residuals.pop_front();
    }
    if (plain-- > 0 || images.size() < 3) continue;
    const Eigen::VectorXd next = extrapolate(images, residuals);
    if (measure.acceptable(next, image)) measure.unpack(next, simulation.state());
  }
  out.why_not = fmt::format("after {} cycles the mixture still changes by {:.2g} % from one to the next",
                            out.cycles, out.change * 100.0);
}

SteadyCycle find_steady_cycle(Simulation& simulation, const SteadyOptions& options) {
  SteadyCycle out;
  march_to_steady_cycle(simulation, options, out).go_alone();
  return out;
}

}  // namespace glassbowl::sim
