#include "tests/bench/accuracy.hpp"

#include <algorithm>
#include <cmath>
#include <stdexcept>

namespace glassbowl::bench {

using namespace sim;

namespace {

/// Sums over cycles; only their ratios count.
struct Sums {
  double air = 0.0, fuel = 0.0, torque = 0.0;
  int cycles = 0;
};

Sums sums_of(const March& march, const Point& point) {
  Sums out;
  march(point, [&](const Cycle& cycle) {
    out.air += cycle.air_flow;
    out.fuel += cycle.fuel_flow;
    out.torque += cycle.indicated_torque;
    ++out.cycles;
  });
  return out;
}

/// By the program's error-controlled method, tight; computed once.
const std::vector<Sums>& reference() {
  static const auto all = [] {
    StepOptions options;
    options.method = Method::error_controlled;
    options.tolerance = 1e-7;
    std::vector<Sums> out;
    for (const auto& point : points())
      out.push_back(sums_of([&](const Point& p, const Listener& l) { alone(p, options, l); }, point));
    return out;
  }();
  return all;
}

}  // namespace

double largest_error(const March& march, const std::vector<std::size_t>& at) {
  double largest = 0.0;
  for (const std::size_t i : at) {
    const Sums a = sums_of(march, points()[i]), &r = reference()[i];
    if (a.cycles != r.cycles || r.cycles == 0)
      throw std::runtime_error("methods disagree on the number of cycles");
    const double lambda = (a.air / a.fuel) / (r.air / r.fuel) - 1.0;
    const double torque = (a.torque - r.torque) / (std::abs(r.torque) + 1.0 * r.cycles);
    for (const double error : {lambda, a.air / r.air - 1.0, torque})
      largest = std::isfinite(error) ? std::max(largest, std::abs(error)) : INFINITY;
  }
  return largest;
}

}  // namespace glassbowl::bench
