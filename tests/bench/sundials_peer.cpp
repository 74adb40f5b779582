#include "tests/bench/sundials_peer.hpp"

#include <arkode/arkode_erkstep.h>
#include <cvode/cvode.h>
#include <fmt/format.h>
#include <nvector/nvector_serial.h>
#include <sundials/sundials_context.h>
#include <sunlinsol/sunlinsol_dense.h>
#include <sunmatrix/sunmatrix_dense.h>
#include <sunnonlinsol/sunnonlinsol_fixedpoint.h>

#include <algorithm>
#include <cmath>
#include <memory>
#include <stdexcept>
#include <utility>

namespace glassbowl::bench {

using namespace sim;

namespace {

constexpr double decision_lead = 0.10;  // [rad], as in sim/solver/simulation.cpp

void require(bool good, const Peer& peer, const char* what) {
  if (!good) throw std::runtime_error(fmt::format("{}: {} failed", peer.name, what));
}

struct Problem {
  const Network<double>* network;
  DiscreteState<double> discrete;
  Scratch<double> scratch;
};

int rates(realtype t, N_Vector x, N_Vector dx, void* user) {
  auto& p = *static_cast<Problem*>(user);
  p.network->rates(t, NV_DATA_S(x), p.discrete, NV_DATA_S(dx), p.scratch);
  return 0;
}

/// One integrator with all that it needs; takes single steps.
class Integrator {
 public:
  virtual ~Integrator() = default;
  virtual bool step(double limit, N_Vector x, double& t) = 0;  ///< false when it gives up
};

class Cvode : public Integrator {
 public:
  Cvode(const Peer& peer, SUNContext context, Problem& problem, double t, N_Vector x, double tolerance,
        N_Vector absolute, double longest) {
    const bool adams = peer.family == Peer::Family::adams;
    memory_ = CVodeCreate(adams ? CV_ADAMS : CV_BDF, context);
    require(memory_ != nullptr && CVodeInit(memory_, rates, t, x) == CV_SUCCESS &&
                CVodeSVtolerances(memory_, tolerance, absolute) == CV_SUCCESS &&
                CVodeSetUserData(memory_, &problem) == CV_SUCCESS &&
                CVodeSetMaxStep(memory_, longest) == CV_SUCCESS,
            peer, "setting up");
    if (adams) {
      nonlinear_ = SUNNonlinSol_FixedPoint(x, 0, context);
      require(CVodeSetNonlinearSolver(memory_, nonlinear_) == CV_SUCCESS, peer, "the fixed-point iteration");
    } else {
      matrix_ = SUNDenseMatrix(NV_LENGTH_S(x), NV_LENGTH_S(x), context);
      linear_ = SUNLinSol_Dense(x, matrix_, context);
      require(CVodeSetLinearSolver(memory_, linear_, matrix_) == CVLS_SUCCESS, peer, "the dense Newton");
    }
  }
  ~Cvode() override {
    CVodeFree(&memory_);
    if (nonlinear_ != nullptr) SUNNonlinSolFree(nonlinear_);
    if (linear_ != nullptr) SUNLinSolFree(linear_);
    if (matrix_ != nullptr) SUNMatDestroy(matrix_);
  }
  bool step(double limit, N_Vector x, double& t) override {
    return CVodeSetStopTime(memory_, limit) == CV_SUCCESS && CVode(memory_, limit, x, &t, CV_ONE_STEP) >= 0;
  }

 private:
  void* memory_ = nullptr;
  SUNNonlinearSolver nonlinear_ = nullptr;
  SUNLinearSolver linear_ = nullptr;
  SUNMatrix matrix_ = nullptr;
};

class Arkode : public Integrator {
 public:
  Arkode(const Peer& peer, SUNContext context, Problem& problem, double t, N_Vector x, double tolerance,
         N_Vector absolute, double longest)
      : memory_(ERKStepCreate(rates, t, x, context)) {
    require(memory_ != nullptr && ERKStepSVtolerances(memory_, tolerance, absolute) == ARK_SUCCESS &&
                ERKStepSetUserData(memory_, &problem) == ARK_SUCCESS &&
                ERKStepSetTableNum(memory_, static_cast<ARKODE_ERKTableID>(peer.table)) == ARK_SUCCESS &&
                ERKStepSetMaxStep(memory_, longest) == ARK_SUCCESS,
            peer, "setting up");
  }
  ~Arkode() override { ERKStepFree(&memory_); }
  bool step(double limit, N_Vector x, double& t) override {
    return ERKStepSetStopTime(memory_, limit) == ARK_SUCCESS &&
           ERKStepEvolve(memory_, limit, x, &t, ARK_ONE_STEP) >= 0;
  }

 private:
  void* memory_;
};

struct Context {
  SUNContext value = nullptr;
  Context() { SUNContext_Create(nullptr, &value); }
  ~Context() { SUNContext_Free(&value); }
};
using Vector = std::unique_ptr<std::remove_pointer_t<N_Vector>, decltype(&N_VDestroy)>;

}  // namespace

const Peer adams{"fixed-point iteration", Peer::Family::adams};
const Peer bdf{"dense Newton iteration", Peer::Family::bdf};
const std::vector<Peer> explicit_pairs{
    {"Bogacki-Shampine 3(2)", Peer::Family::runge_kutta, ARKODE_BOGACKI_SHAMPINE_4_2_3},
    {"Zonneveld 4(3)", Peer::Family::runge_kutta, ARKODE_ZONNEVELD_5_3_4},
    {"Cash-Karp 5(4)", Peer::Family::runge_kutta, ARKODE_CASH_KARP_6_4_5}};

void march_by(const Peer& peer, double tolerance, Simulation& simulation, double limit,
              const std::function<void(const Cycle&)>& on_cycle) {
  const auto& network = simulation.network();
  const auto& states = network.states();
  const auto n = static_cast<sunindextype>(states.size);
  const State& start = std::as_const(simulation).state();
  Context context;
  Vector x(N_VNew_Serial(n, context.value), N_VDestroy),
      absolute(N_VNew_Serial(n, context.value), N_VDestroy);
  double* const at = NV_DATA_S(x.get());
  std::copy(start.begin(), start.end(), at);
  for (std::size_t i = 0; i < states.size; ++i)
    NV_DATA_S(absolute.get())[i] = states.names[i].accumulator ? 1e30 : tolerance * states.names[i].nominal;

  Problem problem{&network, simulation.discrete(), network.make_scratch()};
  double t = simulation.time();
  const double longest = decision_lead / network.bike().load.speed(t);
  std::unique_ptr<Integrator> integrator;
  if (peer.family == Peer::Family::runge_kutta)
    integrator = std::make_unique<Arkode>(peer, context.value, problem, t, x.get(), tolerance, absolute.get(),
                                          longest);
  else
    integrator =
        std::make_unique<Cvode>(peer, context.value, problem, t, x.get(), tolerance, absolute.get(), longest);

  State before(states.size), slope(states.size);
  double quiet_until = simulation.quiet_until();
  while (t < limit) {
    std::copy(at, at + states.size, before.begin());
    const double begin = t;
    require(integrator->step(limit, x.get(), t), peer, "a step");
    if (at[states.crank.index(&m::CrankState<double>::angle)] < quiet_until) continue;
    network.rates(begin, before.data(), problem.discrete, slope.data(), problem.scratch);
    const auto ends = simulation.begin_arrival();
    ends.before = before;
    ends.rates_before = slope;
    ends.now.assign(at, at + states.size);
    simulation.arrive(begin, t, on_cycle);
    problem.discrete = simulation.discrete();
    quiet_until = simulation.quiet_until();
  }
}

}  // namespace glassbowl::bench
