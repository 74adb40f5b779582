#include "sim/solver/stepper.hpp"

#include <fmt/format.h>

#include <algorithm>
#include <boost/numeric/odeint/stepper/explicit_generic_rk.hpp>
#include <boost/numeric/odeint/stepper/runge_kutta_dopri5.hpp>
#include <cmath>
#include <numeric>
#include <string>

#include "sim/api/error.hpp"

namespace glassbowl::sim {
namespace {

namespace odeint = boost::numeric::odeint;

constexpr double least_deficit = 1e-4;  // nominal sizes below a bound that are no round-off

/// Ralston's third-order method: of the three-stage methods, the one with the smallest error bound.
/// Source  Ralston, Mathematics of Computation 16 (1962) 431.
using Ralston3Base = odeint::explicit_generic_rk<3, 3, State, double, State, double>;
struct Ralston3 : Ralston3Base {
  Ralston3()
      : Ralston3Base(coef_a_type(boost::array<double, 1>{{0.5}}, boost::array<double, 2>{{0.0, 0.75}}),
                     coef_b_type{{2.0 / 9.0, 1.0 / 3.0, 4.0 / 9.0}}, coef_c_type{{0.0, 0.5, 0.75}}) {}
};

class FixedStep : public Stepper {
 public:
  FixedStep(double step, const StateBounds& bounds)
      : step_(step), names_(bounds.names), lowest_(bounds.lower) {
    for (std::size_t i = 0; i < lowest_.size(); ++i) lowest_[i] -= least_deficit * bounds.nominal[i];
  }

  double step(const Rates& rates, State& x, const State& dx, double t, double limit) override {
    // The last step before a stop point absorbs what rounding left.
    const double dt = limit - t < 1.5 * step_ ? limit - t : step_;
    const bool last = dt != step_;
    method_.do_step(std::cref(rates), x, dx, t, dt);
    for (std::size_t i = 0; i < x.size(); ++i)
      if (!std::isfinite(x[i]) || x[i] < lowest_[i]) complain(x[i], t, names_[i]);
    return last ? limit : t + dt;
  }

 private:
  [[noreturn]] void complain(double value, double t, const std::string& name) const {
    throw Error(ErrorKind::solver,
                fmt::format("the fixed step of {:.3g} s is too long at t = {:.6f} s: {} {}. Try a shorter "
                            "run.step, or run.method = \"error_controlled\"",
                            step_, t, name,
                            std::isfinite(value) ? fmt::format("falls to {:.3g}, below its bound", value)
                                                 : "is no longer a number"));
  }

  double step_;
  std::vector<std::string> names_;
  std::vector<double> lowest_;
  Ralston3 method_;
};

/// Dormand-Prince 5(4) with a step control of our own: the library's controller accepts NaN.
class ErrorControlled : public Stepper {
 public:
  ErrorControlled(const StepOptions& options, StateBounds bounds)
      : options_(options), bounds_(std::move(bounds)), trial_(options.step) {}

  double step(const Rates& rates, State& x, const State& dx, double t, double limit) override {
    next_.resize(x.size());
    error_.resize(x.size());
    dx_next_.resize(x.size());
    for (int attempt = 0; attempt < 60; ++attempt) {
      const double dt = std::min(trial_, limit - t);
      method_.do_step(std::cref(rates), x, dx, t, next_, dx_next_, dt, error_);
      const double norm = error_norm(x);
      if (norm <= 1.0) {
        const bool cut = dt < trial_;
        const double grow = std::clamp(0.9 * std::pow(std::max(norm, 1e-8), -0.2), 0.3, 3.0);
        if (!cut || grow < 1.0) trial_ = dt * grow;
        check_progress(x, t, dt);
        x.swap(next_);
        return cut && limit - t - dt <= 0.0 ? limit : t + dt;
      }
      trial_ = dt * (std::isfinite(norm) ? std::clamp(0.9 * std::pow(norm, -0.25), 0.1, 0.8) : 0.1);
      if (trial_ < options_.smallest) break;
    }
    throw Error(ErrorKind::solver,
                fmt::format("no step longer than {:.1g} s meets the tolerance at t = {:.6f} s; "
                            "largest errors in {}",
                            options_.smallest, t, worst(x)));
  }

 private:
  void check_progress(const State& x, double t, double dt) {
    progress_ += dt;
    if (++steps_ < 10000) return;
    if (progress_ < options_.least_progress)
      throw Error(ErrorKind::solver,
                  fmt::format("10,000 steps advance by only {:.2g} s at t = {:.6f} s, too slow to go on; "
                              "largest errors in {}",
                              progress_, t, worst(x)));
    steps_ = 0;
    progress_ = 0.0;
  }

  double weighted(const State& x, std::size_t i) const {
    return error_[i] / (options_.tolerance * (std::abs(x[i]) + bounds_.nominal[i]));
  }
  double error_norm(const State& x) const {
    double largest = 0.0;
    for (std::size_t i = 0; i < x.size(); ++i) {
      if (!std::isfinite(next_[i])) return INFINITY;
      // Far below its bound, the step was too long whatever its error.
      const double below = (bounds_.lower[i] - next_[i]) / least_deficit;
      if (below > bounds_.nominal[i] && bounds_.nominal[i] > 0.0)
        largest = std::max(largest, below / bounds_.nominal[i]);
      if (bounds_.nominal[i] > 0.0) largest = std::max(largest, std::abs(weighted(x, i)));
    }
    return largest;
  }
  std::string worst(const State& x) const {
    std::vector<std::size_t> order(x.size());
    std::iota(order.begin(), order.end(), std::size_t{0});
    const auto size = [&](std::size_t i) {
      const double e = bounds_.nominal[i] > 0.0 ? std::abs(weighted(x, i)) : 0.0;
      return std::isfinite(e) ? e : 1e300;
    };
    std::partial_sort(order.begin(), order.begin() + 5, order.end(),
                      [&](std::size_t a, std::size_t b) { return size(a) > size(b); });
    std::string text;
    for (std::size_t i = 0; i < 5; ++i) text += (i ? ", " : "") + bounds_.names[order[i]];
    return text;
  }

  StepOptions options_;
  StateBounds bounds_;
  double trial_;
  int steps_ = 0;
  double progress_ = 0.0;  // [s] over these
  State next_, dx_next_, error_;
  odeint::runge_kutta_dopri5<State> method_;
};

}  // namespace

std::unique_ptr<Stepper> make_stepper(const StepOptions& options, StateBounds bounds) {
  if (options.method == Method::fixed_step) return std::make_unique<FixedStep>(options.step, bounds);
  return std::make_unique<ErrorControlled>(options, std::move(bounds));
}

}  // namespace glassbowl::sim
