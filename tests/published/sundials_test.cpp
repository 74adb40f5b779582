#include <cvode/cvode.h>
#include <nvector/nvector_serial.h>
#include <sundials/sundials_context.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>
#include <iostream>
#include <memory>
#include <string>
#include <utility>

#include "models/constants.hpp"
#include "sim/bike/resolved_case.hpp"
#include "sim/cases/find_case.hpp"
#include "sim/run/stop_points.hpp"
#include "sim/solver/simulation.hpp"

// The program's own right-hand side, integrated by CVODE (SUNDIALS) to tight tolerances beside the program's
// two integrators, from the same state over the same stretch of a run. Events are applied as the solver does:
// a charge's burning is decided 0.10 rad before its spark from the state there; CVODE finds that moment as a
// root.

using namespace glassbowl::sim;

namespace {

namespace m = glassbowl::models;
constexpr double pi = m::constants::pi;
constexpr double decision_lead = 0.10;  // [rad], as in sim/solver/simulation.cpp

struct Stretch {
  std::string name;
  Bike<double> bike;
  double begin, end;  ///< [s]
  State state;        ///< at its begin; no cylinder burns there
};

/// Whether every cylinder is well past its burn and before its next decision.
bool between_burns(const Network<double>& network, double crank_angle) {
  for (std::size_t k = 0; k < network.states().cylinders; ++k) {
    const double angle = network.cylinders().angle(k, crank_angle);
    if (angle < 0.75 * pi || angle > 3.5 * pi) return false;
  }
  return true;
}

/// Runs a shipped case up to `from` [s] and on to a moment between burns.
Stretch stretch(const std::string& name, const std::vector<std::string>& sets, double from, double seconds) {
  const auto resolved = read_case(find_case(name), sets);
  StepOptions options;
  Simulation simulation(resolved.bike, options);
  simulation.set_time(-resolved.plan.settle);
  REQUIRE(simulation.advance(from));
  const auto& states = simulation.network().states();
  while (!between_burns(simulation.network(),
                        std::as_const(simulation).state()[states.crank.index(&m::CrankState<double>::angle)]))
    REQUIRE(simulation.advance(simulation.time() + 2e-4));
  const double begin = simulation.time();
  return {name, resolved.bike, begin, begin + seconds, std::as_const(simulation).state()};
}

struct ProgramResult {
  State state;
  long evaluations = 0;
};

/// One of the program's integrators over the stretch; held values start afresh, which between burns is the
/// same.
ProgramResult by_program(const Stretch& s, const StepOptions& options) {
  Simulation simulation(s.bike, options);
  simulation.state() = s.state;
  simulation.set_time(s.begin);
  StopPoints stops(s.bike, s.end + 1.0);
  while (simulation.time() < s.end) REQUIRE(simulation.advance(stops.next(simulation.time(), s.end)));
  return {std::as_const(simulation).state(), simulation.evaluations()};
}

/// What CVODE's callbacks need.
struct Problem {
  const Network<double>* network;
  DiscreteState<double> discrete;
  Scratch<double> scratch;
};

/// Angle by which cylinder k has passed its decision, wrapped to -2π..2π.
double past_decision(const Problem& p, std::size_t k, const double* x) {
  const auto& bike = p.network->bike();
  const auto& states = p.network->states();
  const auto& burn = bike.engine.combustion;
  const double spark = bike.engine.firing[k] + burn.retard_error -
                       burn.advance(x[states.crank.index(&m::CrankState<double>::speed)]);
  return std::remainder(x[states.crank.index(&m::CrankState<double>::angle)] - (spark - decision_lead),
                        4.0 * pi);
}

int rates(realtype t, N_Vector x, N_Vector dx, void* user) {
  auto& p = *static_cast<Problem*>(user);
  p.network->rates(t, NV_DATA_S(x), p.discrete, NV_DATA_S(dx), p.scratch);
  return 0;
}

int decisions(realtype, N_Vector x, realtype* value, void* user) {
  auto& p = *static_cast<Problem*>(user);
  // Rises through zero at the decision and nowhere else: at the far side it jumps from 1 to -1.
  for (std::size_t k = 0; k < p.network->states().cylinders; ++k) {
    value[k] = std::sin(0.25 * past_decision(p, k, NV_DATA_S(x)));
  }
  return 0;
}

struct CvodeResult {
  State state;
  long steps = 0, decisions = 0;
};

CvodeResult by_cvode(const Stretch& s, double tolerance) {
  const Network<double> network(s.bike);
  const auto& states = network.states();
  Problem problem{&network, network.discrete_at_rest(), network.make_scratch()};
  SUNContext context = nullptr;
  REQUIRE(SUNContext_Create(nullptr, &context) == 0);
  const auto n = static_cast<sunindextype>(states.size);
  N_Vector x = N_VNew_Serial(n, context), absolute = N_VNew_Serial(n, context);
  for (std::size_t i = 0; i < states.size; ++i) {
    NV_Ith_S(x, static_cast<sunindextype>(i)) = s.state[i];
    // Totals follow from the rest and have no nominal size; they must not steer, but must be resolved.
    const double nominal =
        states.names[i].accumulator ? std::max(1e-3, std::abs(s.state[i])) : states.names[i].nominal;
    NV_Ith_S(absolute, static_cast<sunindextype>(i)) = tolerance * nominal;
  }
  void* cvode = CVodeCreate(CV_ADAMS, context);
  REQUIRE(CVodeInit(cvode, rates, s.begin, x) == CV_SUCCESS);
  REQUIRE(CVodeSVtolerances(cvode, tolerance, absolute) == CV_SUCCESS);
  REQUIRE(CVodeSetUserData(cvode, &problem) == CV_SUCCESS);
  REQUIRE(CVodeSetMaxNumSteps(cvode, 100000000) == CV_SUCCESS);
  // Flows turn round within microseconds; longer steps would leave that to the error test alone.
  REQUIRE(CVodeSetMaxStep(cvode, 4e-6) == CV_SUCCESS);
  SUNNonlinearSolver solver = SUNNonlinSol_FixedPoint(x, 0, context);
  REQUIRE(CVodeSetNonlinearSolver(cvode, solver) == CV_SUCCESS);
  REQUIRE(CVodeRootInit(cvode, static_cast<int>(states.cylinders), decisions) == CV_SUCCESS);
  std::vector<int> rising(states.cylinders, 1);
  REQUIRE(CVodeSetRootDirection(cvode, rising.data()) == CV_SUCCESS);

  CvodeResult out;
  StopPoints stops(s.bike, s.end + 1.0);
  realtype t = s.begin;
  while (t < s.end) {
    const double target = stops.next(t, s.end);
    REQUIRE(CVodeSetStopTime(cvode, target) == CV_SUCCESS);
    const int flag = CVode(cvode, target, x, &t, CV_NORMAL);
    REQUIRE(flag >= 0);
    long steps = 0;
    CVodeGetNumSteps(cvode, &steps);
    if (flag == CV_ROOT_RETURN) {
      std::vector<int> found(states.cylinders);
      REQUIRE(CVodeGetRootInfo(cvode, found.data()) == CV_SUCCESS);
      for (std::size_t k = 0; k < states.cylinders; ++k)
        if (found[k] != 0) {
          problem.discrete.ignition[k] = network.cylinders().decide_ignition(
              k, NV_DATA_S(x), NV_DATA_S(x)[states.crank.index(&m::CrankState<double>::speed)]);
          ++out.decisions;
        }
    }
    out.steps += steps;
    REQUIRE(CVodeReInit(cvode, t, x) == CV_SUCCESS);  // counts anew
  }
  out.state.assign(NV_DATA_S(x), NV_DATA_S(x) + states.size);
  CVodeFree(&cvode);
  SUNNonlinSolFree(solver);
  N_VDestroy(x);
  N_VDestroy(absolute);
  SUNContext_Free(&context);
  return out;
}

struct Gap {
  double size = 0.0;  ///< [-] largest |difference| / (|x| + nominal) over physical states
  std::string name;
  double mean = 0.0;  ///< [-] root mean square of the same
};

Gap gap(const Network<double>& network, const State& a, const State& b) {
  Gap out;
  int n = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    const auto& name = network.states().names[i];
    if (name.accumulator) continue;
    const double d = std::abs(a[i] - b[i]) / (std::abs(b[i]) + name.nominal);
    out.mean += d * d;
    ++n;
    if (d > out.size) {
      out.size = d;
      out.name = name.name;
    }
  }
  out.mean = std::sqrt(out.mean / n);
  return out;
}

/// Air, fuel and work over the stretch.
struct Means {
  double air, lambda, work;
};
Means means(const Network<double>& network, const State& from, const State& to) {
  const auto& l = network.states();
  const auto& carburetor = l.carburetors.front();
  const auto a = carburetor.totals.load(from.data()), b = carburetor.totals.load(to.data());
  double fuel = b.idle - a.idle + b.main - a.main + b.pump - a.pump + b.enrichment - a.enrichment;
  for (std::size_t i = 0; i < carburetor.port_fuel.count; ++i)
    fuel += to[carburetor.port_fuel[i]] - from[carburetor.port_fuel[i]];
  const double air = b.air - a.air;
  return {air, air / (fuel * network.bike().fuel.stoichiometric_ratio),
          l.totals.load(to.data()).indicated_work - l.totals.load(from.data()).indicated_work};
}

void compare(const Stretch& s) {
  const Network<double> network(s.bike);
  const CvodeResult reference = by_cvode(s, 1e-10);
  REQUIRE(reference.decisions >= 2);
  const Gap own = gap(network, by_cvode(s, 1e-9).state, reference.state);
  std::cout << s.name << ": CVODE " << reference.steps << " steps, " << reference.decisions
            << " decisions; at a tenth of its accuracy off by " << own.size << " (" << own.name << ")\n";
  CHECK(own.size < 2e-5);  // else it would be no reference for what follows

  const Means exact = means(network, s.state, reference.state);
  struct Outcome {
    Gap gap;
    double steps, air, lambda, work;
  };
  const auto measure = [&](const std::string& what, const StepOptions& options, int stages) {
    const ProgramResult r = by_program(s, options);
    const Gap g = gap(network, r.state, reference.state);
    const Means got = means(network, s.state, r.state);
    const Outcome out{g, static_cast<double>(r.evaluations) / stages, got.air / exact.air - 1.0,
                      got.lambda / exact.lambda - 1.0, got.work / exact.work - 1.0};
    std::cout << "  " << what << ": largest difference " << g.size << " (" << g.name << "), root mean square "
              << g.mean << "; air " << out.air << ", lambda " << out.lambda << ", work " << out.work << "\n";
    return out;
  };

  StepOptions adaptive;
  adaptive.method = Method::error_controlled;
  const Outcome accurate = measure("error-controlled, 1e-6 per step", adaptive, 7);
  // What it claims is an error per step; over a stretch that adds up to as many of them as there were steps.
  CHECK(accurate.gap.size < adaptive.tolerance * accurate.steps);
  CHECK(std::abs(accurate.air) < 1e-4);
  CHECK(std::abs(accurate.lambda) < 1e-4);
  CHECK(std::abs(accurate.work) < 1e-4);

  const StepOptions usual;
  const Outcome quick = measure("fixed step as shipped", usual, 3);
  // What it claims: air, mixture and work over a cycle to 0.1 %.
  CHECK(std::abs(quick.air) < 1e-3);
  CHECK(std::abs(quick.lambda) < 1e-3);
  CHECK(std::abs(quick.work) < 1e-3);

  double last = 0.0, first = 0.0;
  for (const double step : {80e-6, 40e-6, 20e-6, 10e-6}) {
    StepOptions halved;
    halved.step = step;
    const double error =
        measure("fixed step of " + std::to_string(static_cast<int>(step * 1e6 + 0.5)) + " us", halved, 3)
            .gap.mean;
    if (last > 0.0) std::cout << "    observed order " << std::log2(last / error) << "\n";
    if (first == 0.0) first = error;
    last = error;
  }
  // Third order where all is smooth; flows that turn round and decisions that land a step late cost some of
  // it.
  CHECK(std::log2(first / last) / 3.0 > 1.0);
}

}  // namespace

TEST_CASE("sundials: both integrators agree with CVODE over an idle cycle", "[reference]") {
  compare(stretch("warm_idle", {}, 0.5, 0.115));
}
TEST_CASE("sundials: both integrators agree with CVODE over a full-throttle cycle", "[reference]") {
  compare(stretch("full_throttle_pull", {"load.speed=3500 1/min"}, 0.0, 0.0343));
}
TEST_CASE("sundials: both integrators agree with CVODE over the opening of a blip", "[reference]") {
  compare(stretch("blip", {}, 0.19, 0.12));
}
