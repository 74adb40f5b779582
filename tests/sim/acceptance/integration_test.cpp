#include <fmt/core.h>

#include <algorithm>
#include <catch2/catch.hpp>
#include <cmath>

#include "models/constants.hpp"
#include "tests/sim/acceptance/drive.hpp"
#include "tests/sim/acceptance/figure.hpp"

namespace glassbowl::sim {
namespace {

std::vector<Cycle> cycles_of(const ResolvedCase& resolved) {
  std::vector<Cycle> out;
  Drive drive(resolved);
  drive.to(0.0);
  drive.to(resolved.plan.duration, [&](const Cycle& cycle) { out.push_back(cycle); });
  return out;
}

/// Leaves only the cycles that both have.
void match(std::vector<Cycle>& a, std::vector<Cycle>& b) {
  const auto keep = [](std::vector<Cycle>& list, const std::vector<Cycle>& other) {
    std::erase_if(list, [&](const Cycle& c) {
      return std::none_of(other.begin(), other.end(), [&](const Cycle& d) { return d.number == c.number; });
    });
  };
  keep(a, b);
  keep(b, a);
}

struct Apart {
  double largest = 0.0;
  long cycle = 0;
};

/// Largest difference of a quantity between equal cycles, over its largest size.
Apart apart(const std::vector<Cycle>& a, const std::vector<Cycle>& b, double Cycle::*quantity) {
  Apart out;
  double size = 0.0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    const double d = std::abs(a[i].*quantity - b[i].*quantity);
    if (d > out.largest) out = {d, a[i].number};
    size = std::max(size, std::abs(b[i].*quantity));
  }
  out.largest /= size;
  return out;
}

constexpr double window = 0.32e-3;  // [s] 6 deg at 3,000 1/min: divides by all steps tried

/// Which way the model's choices fall: directions of flow, choking, valves and ports open or shut, burning.
std::vector<bool> choices(const Snapshot<double>& s, const State& x, const Layout& layout) {
  std::vector<bool> out;
  for (std::size_t f = 0; f < layout.faces; ++f) {
    const auto& face = layout.connections[f];
    const double a = face.from == outside ? s.outside.pressure : s.gas[face.from].pressure;
    const double b = face.to == outside ? s.outside.pressure : s.gas[face.to].pressure;
    out.push_back(x[layout.face(f)] > 0.0);
    out.push_back(std::min(a, b) < 0.5283 * std::max(a, b));
  }
  for (const auto& c : s.cylinder) {
    out.push_back(c.intake_lift > 0.0);
    out.push_back(c.exhaust_lift > 0.0);
    out.push_back(c.burn_rate > 0.0);
  }
  for (const auto& port : s.port) {
    out.push_back(port.fuel > 0.0);
    out.push_back(port.air > 0.0);
  }
  for (const double flow : {s.idle.fuel, s.slow_air, x[layout.slow], x[layout.main], x[layout.main + 2],
                            x[layout.main + 3], s.main.nozzle_fuel, s.pump.nozzle, s.pump.inlet})
    out.push_back(flow > 0.0);
  return out;
}

/// The engine's state one window later by a fixed step, without landing events; says whether a choice
/// changed.
State advanced(const Simulation& from, double step, bool* event) {
  const auto& network = from.network();
  const auto& layout = network.layout();
  StepOptions options;
  options.step = step;
  const auto stepper =
      make_stepper(options, std::vector<double>(layout.size, 1.0), std::vector<std::string>(layout.size));
  auto snapshot = network.make_snapshot();
  const Rates rates = [&](const State& x, State& dx, double t) {
    network.rates(t, x.data(), from.held(), dx.data(), snapshot);
  };
  State x = from.state(), dx(x.size());
  std::vector<bool> first;
  const double end = from.time() + window;
  for (double t = from.time(); t < end - 1e-12;) {
    rates(x, dx, t);
    if (event) {
      const auto now = choices(snapshot, x, layout);
      if (first.empty()) first = now;
      if (now != first) *event = true;
    }
    t = stepper->step(rates, x, dx, t, end);
  }
  return x;
}

}  // namespace

TEST_CASE("core: fixed and error-controlled steps agree on every shipped run",
          "[.slow][acceptance][numbers]") {
  double worst_lambda = 0.0, worst_air = 0.0, worst_torque = 0.0;
  for (const std::string& name : shipped_runs()) {
    auto fixed = cycles_of(shortened(name));
    auto reference = cycles_of(shortened(name, {"run.method=error_controlled", "run.tolerance=1e-5"}));
    match(fixed, reference);
    REQUIRE(fixed.size() > 5);
    const auto stoich = shortened(name).bike.fuel.stoichiometric_ratio;
    const Means a = mean_of(fixed, stoich), b = mean_of(reference, stoich);
    const double lambda = std::abs(a.lambda / b.lambda - 1.0), air = std::abs(a.air / b.air - 1.0),
                 torque = std::abs(a.indicated / b.indicated - 1.0);
    const Apart by_lambda = apart(fixed, reference, &Cycle::lambda),
                by_air = apart(fixed, reference, &Cycle::air_flow),
                by_torque = apart(fixed, reference, &Cycle::indicated_torque);
    fmt::print(
        "  {:26} {:3} cycles: lambda {:.3f} %, air {:.3f} %, torque {:.3f} %; worst cycles {:.3f} % (cycle "
        "{}), "
        "{:.3f} % ({}), {:.3f} % ({})\n",
        name, fixed.size(), 100 * lambda, 100 * air, 100 * torque, 100 * by_lambda.largest, by_lambda.cycle,
        100 * by_air.largest, by_air.cycle, 100 * by_torque.largest, by_torque.cycle);
    INFO(name);
    CHECK(lambda < 1e-3);
    CHECK(air < 1e-3);
    CHECK(torque < 1e-3);
    worst_lambda = std::max(worst_lambda, lambda);
    worst_air = std::max(worst_air, air);
    worst_torque = std::max(worst_torque, torque);
  }
  print_figure("fixed against error-controlled: lambda, worst run", 100 * worst_lambda, "%", "< 0.1");
  print_figure("fixed against error-controlled: air flow, worst run", 100 * worst_air, "%", "< 0.1");
  print_figure("fixed against error-controlled: indicated torque, worst run", 100 * worst_torque, "%",
               "< 0.1");
}

TEST_CASE("core: away from events, halving the step shrinks the error by the method's order",
          "[acceptance][numbers]") {
  Drive engine(shipped("slow_sweep", {"rider.throttle=10 %", "run.settle=1 s", "run.duration=1 s"}));
  engine.to(0.0);
  const auto& layout = engine.layout();
  double lowest = INFINITY, sum = 0.0;
  int smooth = 0;
  const int windows = 240;
  for (int i = 0; i < windows; ++i) {
    engine.to(i * 0.173e-3);
    bool event = false;
    const State exact = advanced(engine.simulation(), 1e-6, &event);
    if (event) continue;
    const auto error = [&](double step) {
      const State x = advanced(engine.simulation(), step, nullptr);
      double squares = 0.0;
      for (std::size_t k = 0; k < layout.ledger_begin; ++k) {
        const double e = (x[k] - exact[k]) / (std::abs(exact[k]) + layout.names[k].nominal);
        squares += e * e;
      }
      return std::sqrt(squares);
    };
    const double coarse = error(40e-6), middle = error(20e-6), fine = error(10e-6);
    const double order = 0.5 * std::log2(coarse / fine);
    const double angle = engine.simulation().state()[layout.crank_angle] * 180.0 / models::constants::pi;
    fmt::print("  from {:5.1f} deg: errors {:.1e}, {:.1e}, {:.1e}, order {:.2f}\n", std::fmod(angle, 720.0),
               coarse, middle, fine, order);
    CHECK(order > 2.5);
    lowest = std::min(lowest, order);
    sum += order;
    ++smooth;
  }
  print_figure("windows without event", smooth, fmt::format("of {}", windows), ">= 10");
  REQUIRE(smooth >= 10);
  print_figure("order of the fixed step, mean", sum / smooth, "", "3 by the books");
  print_figure("order of the fixed step, lowest", lowest, "", "> 2.5");
}

}  // namespace glassbowl::sim
