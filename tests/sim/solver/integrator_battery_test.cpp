#include <catch2/catch.hpp>
#include <cmath>
#include <functional>

#include "sim/api/error.hpp"
#include "sim/solver/step_interpolation.hpp"
#include "sim/solver/stepper.hpp"
#include "tests/support/tolerance.hpp"

// Both integrators on equations with closed solutions, apart from any bike.

using namespace glassbowl;
using namespace glassbowl::sim;

namespace {

/// An initial value problem with its solution.
struct Problem {
  std::string name;
  Rates rates;
  std::function<State(double t)> exact;
};

// Sources: Hairer, Norsett & Wanner, Solving Ordinary Differential Equations I (1993), ch. II; the stiff one
// is Prothero & Robinson, Mathematics of Computation 28 (1974) 145: its solution is the cosine for any
// stiffness.
const Problem decay{"decay", [](const State& x, State& dx, double) { dx[0] = -2.0 * x[0]; },
                    [](double t) { return State{std::exp(-2.0 * t)}; }};
const Problem oscillator{"oscillator",
                         [](const State& x, State& dx, double) {
                           dx[0] = x[1];
                           dx[1] = -x[0];
                         },
                         [](double t) {
                           return State{std::cos(t), -std::sin(t)};
                         }};
const Problem logistic{"logistic growth",
                       [](const State& x, State& dx, double) { dx[0] = x[0] * (1.0 - x[0]); },
                       [](double t) { return State{1.0 / (1.0 + 9.0 * std::exp(-t))}; }};
const Problem forced{"product of two functions of time",
                     [](const State& x, State& dx, double t) { dx[0] = x[0] * std::cos(t); },
                     [](double t) { return State{std::exp(std::sin(t))}; }};
const Problem all[] = {decay, oscillator, logistic, forced};

Problem stiff(double stiffness) {
  return {
      "stiff",
      [=](const State& x, State& dx, double t) { dx[0] = -stiffness * (x[0] - std::cos(t)) - std::sin(t); },
      [](double t) { return State{std::cos(t)}; }};
}

struct Outcome {
  double error;  ///< largest at the end
  int steps;
};

/// From 0 to `end`, no step longer than `longest`.
Outcome solve(const Problem& p, const StepOptions& options, double end, double longest) {
  State x = p.exact(0.0), dx(x.size()), next;
  const auto names = std::make_shared<const std::vector<StateName>>(x.size());
  const auto stepper = make_stepper(options, {names, State(x.size(), 1.0), State(x.size(), -1e300)});
  double t = 0.0;
  Outcome out{0.0, 0};
  for (int stop = 1; t < end; ++stop)
    for (const double limit = std::min(end, stop * longest); t < limit; ++out.steps) {
      p.rates(x, dx, t);
      t = stepper->step(p.rates, x, dx, t, limit, next);
      x.swap(next);
    }
  CHECK(t == end);  // the last step ends at the stop itself
  for (std::size_t i = 0; i < x.size(); ++i)
    out.error = std::max(out.error, std::abs(x[i] - p.exact(end)[i]));
  return out;
}

Outcome by_fixed_step(const Problem& p, double step, double end = 2.0) {
  return solve(p, {.method = Method::fixed_step, .step = step}, end, end);
}
Outcome by_tolerance(const Problem& p, double tolerance, double end) {
  return solve(p, {.method = Method::error_controlled, .step = 1e-3, .tolerance = tolerance}, end, end);
}
/// The other method with steps that no error shortens.
Outcome by_even_steps(const Problem& p, double step, double end = 2.0) {
  return solve(p, {.method = Method::error_controlled, .step = step, .tolerance = 1e9}, end, step);
}

}  // namespace

TEST_CASE("integrators: each has the order of its method", "[sim][solver][battery]") {
  // The error's series ends behind the order's term: halving h from 1/16 changes the observed order by O(h).
  for (const auto& p : all) {
    INFO(p.name);
    const double third = std::log2(by_fixed_step(p, 1.0 / 32).error / by_fixed_step(p, 1.0 / 64).error);
    const double fifth = std::log2(by_even_steps(p, 1.0 / 8).error / by_even_steps(p, 1.0 / 16).error);
    CHECK(third > 2.85);
    CHECK(third < 3.3);
    CHECK(fifth > 4.7);
    CHECK(fifth < 6.2);  // the oscillator's leading terms nearly cancel
  }
}

TEST_CASE("integrators: what depends on time alone is integrated as by a quadrature of the same degree",
          "[sim][solver][battery]") {
  const auto power = [](int n) {
    return Problem{"power", [=](const State&, State& dx, double t) { dx[0] = (n + 1) * std::pow(t, n); },
                   [=](double t) { return State{std::pow(t, n + 1)}; }};
  };
  for (int n = 0; n <= 2; ++n)
    CHECK_THAT(by_fixed_step(power(n), 0.25, 1.0).error, tests::near(0.0, tests::round_off(64, 1.0)));
  for (int n = 0; n <= 4; ++n)
    CHECK_THAT(by_even_steps(power(n), 0.25, 1.0).error, tests::near(0.0, tests::round_off(64, 1.0)));
  CHECK(by_fixed_step(power(3), 0.25, 1.0).error > 1e-6);
  CHECK(by_even_steps(power(5), 0.25, 1.0).error > 1e-9);
}

TEST_CASE("integrators: a hundred times tighter tolerance makes the error at least twenty times smaller",
          "[sim][solver][battery]") {
  for (const auto& p : all) {
    INFO(p.name);
    const double loose = by_tolerance(p, 1e-6, 5.0).error, tight = by_tolerance(p, 1e-8, 5.0).error;
    CHECK(tight < loose / 20.0);
    CHECK(loose < 1e-4);
  }
}

TEST_CASE("integrators: a stiff equation costs steps, not accuracy, where the error is controlled",
          "[sim][solver][battery]") {
  // Explicit: a step is at most about 3.3 over the stiffness (Dormand-Prince's interval of stability).
  for (const double stiffness : {1e3, 1e4}) {
    const Outcome out = by_tolerance(stiff(stiffness), 1e-6, 1.0);
    CHECK(out.error < 1e-5);
    CHECK(out.steps > stiffness / 4.0);
    CHECK(out.steps < stiffness);
  }
}

TEST_CASE("integrators: the fixed step is stable up to 2.51 time constants and no further",
          "[sim][solver][battery]") {
  // |1 + z + z^2/2 + z^3/6| = 1 at z = -2.5127: Hairer & Wanner, Solving Ordinary Differential Equations II
  // (1996), sec. IV.2.
  CHECK(by_fixed_step(stiff(1e3), 2.45e-3, 1.0).error < 1e-2);
  CHECK_FALSE(by_fixed_step(stiff(1e3), 2.60e-3, 1.0).error < 1.0);
}

TEST_CASE("integrators: rates that are no number end the run with the state's name",
          "[sim][solver][battery]") {
  const Problem bad{"bad", [](const State&, State& dx, double) { dx[0] = NAN; },
                    [](double) { return State{1.0}; }};
  CHECK_THROWS_AS(by_fixed_step(bad, 0.1), Error);
  CHECK_THROWS_AS(by_tolerance(bad, 1e-6, 1.0), Error);
}

TEST_CASE("event location: a cubic within a step is exact for cubics and of fourth order for others",
          "[sim][solver][battery]") {
  const StepCubic cubic{2.0, 1.0, 0.0, 9.0, 12.0};  // 1 + t^3 over 0..2
  CHECK_THAT(cubic(0.25), tests::near(1.125, tests::round_off(16)));
  CHECK_THAT(cubic(0.75), tests::near(4.375, tests::round_off(16)));
  const auto error = [](double h) {
    return std::abs(StepCubic{h, 0.0, 1.0, std::sin(h), std::cos(h)}(0.4) - std::sin(0.4 * h));
  };
  CHECK_THAT(std::log2(error(0.2) / error(0.1)),
             tests::near(4.9, tests::relative(0.25, "fourth order at least")));
}

TEST_CASE("event location: a crossing is found to the cubic's own error", "[sim][solver][battery]") {
  // An angle that gains 2 % of its speed over the step, as a crank does at most: the true time of crossing.
  const auto angle = [](double t) { return 100.0 * t + 1e4 * t * t; };
  const double h = 1e-4;
  const StepCubic step{h, angle(0.0), 100.0, angle(h), 100.0 + 2e4 * h};
  for (const double share : {0.1, 0.5, 0.93})
    CHECK_THAT(step.share_at(angle(share * h)),
               tests::near(share, tests::absolute_error(1e-8, "0.02 to the power 4")));
}
