#include "sim/solver/stepper.hpp"

#include <fmt/format.h>

#include <Eigen/Core>
#include <algorithm>
#include <boost/numeric/odeint/stepper/runge_kutta_dopri5.hpp>
#include <cmath>
#include <iterator>
#include <numeric>
#include <stdexcept>
#include <string>

#include "sim/api/error.hpp"
#include "sim/solver/ralston.hpp"

namespace glassbowl::sim {
namespace {

namespace odeint = boost::numeric::odeint;

/// Rates as Ralston's method takes them.
struct AsTheyAre {
  const Rates& rates;
  static double narrowed(std::size_t, double x) { return x; }
  void operator()(const State& x, State& dx, double t) const { rates(x, dx, t); }
};

/// Rates depend on no accumulator.
std::size_t states_before_accumulators(const std::vector<StateName>& names) {
  const auto first =
      std::find_if(names.begin(), names.end(), [](const StateName& n) { return n.accumulator; });
  return static_cast<std::size_t>(first - names.begin());
}

class FixedStep : public Stepper {
 public:
  FixedStep(double step, const StateBounds& bounds)
      : step_(step), check_(step, bounds), read_(states_before_accumulators(*bounds.names)) {}

  double step(const Rates& rates, const State& x, const State& dx, double t, double limit,
              State& next) override {
    // The last step before a stop point absorbs what rounding left.
    const double dt = limit - t < 1.5 * step_ ? limit - t : step_;
    const bool last = dt != step_;
    method_.step(AsTheyAre{rates}, x, dx, t, dt, read_, next);
    check_(next, t);
    return last ? limit : t + dt;
  }

 private:
  double step_;
  StepCheck check_;
  std::size_t read_;
  Ralston<double> method_;
};

/// Dormand-Prince 5(4) with a step control of our own: the library's controller accepts NaN.
/// Each step is taken from its own beginning as origin, and what rounding keeps out of the state goes into
/// the next: a million short steps of a small flow into a large store lose nothing (Kahan, Communications of
/// the ACM 8 (1965) 40).
class ErrorControlled : public Stepper {
 public:
  ErrorControlled(const StepOptions& options, StateBounds bounds)
      : options_(options), bounds_(std::move(bounds)), trial_(options.step) {}

  double step(const Rates& rates, const State& x, const State& dx, double t, double limit,
              State& next) override {
    for (State* each : {&next, &error_, &dx_next_, &moved_, &place_, &left_out_}) each->resize(x.size());
    const auto from_origin = [&](const State& moved, State& rate, double at) {
      for (std::size_t i = 0; i < x.size(); ++i) place_[i] = x[i] + moved[i];
      rates(place_, rate, at);
    };
    for (int attempt = 0; attempt < 60; ++attempt) {
      const double dt = std::min(trial_, limit - t);
      method_.do_step(from_origin, left_out_, dx, t, moved_, dx_next_, dt, error_);
      for (std::size_t i = 0; i < x.size(); ++i) next[i] = x[i] + moved_[i];
      const double norm = error_norm(x, next);
      if (norm <= 1.0) {
        const bool cut = dt < trial_;
        const double grow = std::clamp(0.9 * std::pow(std::max(norm, 1e-8), -0.2), 0.3, 3.0);
        if (!cut || grow < 1.0) trial_ = dt * grow;
        for (std::size_t i = 0; i < x.size(); ++i) left_out_[i] = moved_[i] - (next[i] - x[i]);
        check_progress(x, next, t, dt);
        return cut && limit - t - dt <= 0.0 ? limit : t + dt;
      }
      trial_ = dt * (std::isfinite(norm) ? std::clamp(0.9 * std::pow(norm, -0.25), 0.1, 0.8) : 0.1);
      if (trial_ < options_.smallest) break;
    }
    throw Error(ErrorKind::solver,
                fmt::format("no step longer than {:.1g} s meets the tolerance at t = {:.6f} s; "
                            "largest errors in {}",
                            options_.smallest, t, worst(x, next)));
  }

 private:
  void check_progress(const State& x, const State& next, double t, double dt) {
    progress_ += dt;
    if (++steps_ < 10000) return;
    if (progress_ < options_.least_progress)
      throw Error(ErrorKind::solver,
                  fmt::format("10,000 steps advance by only {:.2g} s at t = {:.6f} s, too slow to go on; "
                              "largest errors in {}",
                              progress_, t, worst(x, next)));
    steps_ = 0;
    progress_ = 0.0;
  }

  double weighted(const State& x, std::size_t i) const {
    return error_[i] / (options_.tolerance * (std::abs(x[i]) + bounds_.nominal[i]));
  }
  double error_of(const State& x, const State& next, std::size_t i) const {
    const double nominal = bounds_.nominal[i];
    if (!(nominal > 0.0)) return 0.0;
    // An exact solution stays above its bound: a step that falls further below it was too long. What lies
    // below already is carried on by the flow and no shorter step would mend it.
    const double fell = std::min(x[i], bounds_.lower[i]) - next[i];
    return std::max(std::abs(weighted(x, i)), fell / (1e-9 * nominal));
  }
  double error_norm(const State& x, const State& next) const {
    double largest = 0.0;
    for (std::size_t i = 0; i < x.size(); ++i) {
      if (!std::isfinite(next[i])) return INFINITY;
      largest = std::max(largest, error_of(x, next, i));
    }
    return largest;
  }
  std::string worst(const State& x, const State& next) const {
    std::vector<std::size_t> order(x.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    const auto size = [&](std::size_t i) {
      const double e = error_of(x, next, i);
      return std::isfinite(e) ? e : 1e300;
    };
    const std::size_t named = std::min<std::size_t>(5, order.size());
    std::partial_sort(order.begin(), order.begin() + static_cast<std::ptrdiff_t>(named), order.end(),
                      [&](std::size_t a, std::size_t b) { return size(a) > size(b); });
    std::string text;
    for (std::size_t i = 0; i < named; ++i) text += (i ? ", " : "") + (*bounds_.names)[order[i]].name;
    return text;
  }

  StepOptions options_;
  StateBounds bounds_;
  double trial_;
  int steps_ = 0;
  double progress_ = 0.0;  // [s] over these
  State dx_next_, error_;
  State moved_, place_;  // from the step's beginning, and where that is
  State left_out_;       // of the last step
  odeint::runge_kutta_dopri5<State> method_;
};

}  // namespace

StepCheck::StepCheck(double step, const StateBounds& bounds)
    : step_(step), names_(bounds.names), lowest_(bounds.lower) {
  constexpr double least_deficit = 1e-4;  // nominal sizes below a bound that are no round-off
  for (std::size_t i = 0; i < lowest_.size(); ++i) lowest_[i] -= least_deficit * bounds.nominal[i];
}

void StepCheck::operator()(const State& x, double t) const {
  const auto column = [](const State& s) {
    return Eigen::Map<const Eigen::ArrayXd>(s.data(), std::ssize(s));
  };
  const auto values = column(x), lowest = column(lowest_);
  // Zero unless a state is no number (`min` alone might lose that), or below its bound.
  const double unsound = ((values - values) + (values - lowest).min(0.0)).sum();
  if (unsound != 0.0) complain(x, t);
}

void StepCheck::complain(const State& x, double t) const {
  for (std::size_t i = 0; i < x.size(); ++i)
    if (!std::isfinite(x[i]) || x[i] < lowest_[i])
      throw Error(ErrorKind::solver,
                  fmt::format("the fixed step of {:.3g} s is too long at t = {:.6f} s: {} {}. Try a shorter "
                              "run.step, or run.method = \"error_controlled\"",
                              step_, t, (*names_)[i].name,
                              std::isfinite(x[i]) ? fmt::format("falls to {:.3g}, below its bound", x[i])
                                                  : "is no longer a number"));
}

std::unique_ptr<Stepper> make_stepper(const StepOptions& options, StateBounds bounds) {
  if (options.single_rates && options.method != Method::fixed_step)
    throw std::invalid_argument("errors cannot be controlled by rates in single precision");
  if (options.method == Method::fixed_step) return std::make_unique<FixedStep>(options.step, bounds);
  return std::make_unique<ErrorControlled>(options, std::move(bounds));
}

}  // namespace glassbowl::sim
