#include <fmt/format.h>

#include <cmath>

#include "tests/bench/accuracy.hpp"
#include "tests/bench/figures.hpp"
#include "tests/bench/sundials_peer.hpp"

/// Lanes against general-purpose integrators over the same right-hand side, from the same states over the
/// same time, at the same accuracy: each has the loosest tolerance, to a factor of three, at which lambda,
/// air and torque of every point lie within 0.1 % of the reference. That is measured, not what a tolerance
/// promises. Lanes have rates in single precision, as on the way of a search; beneath stands what they do in
/// double precision.
namespace glassbowl::bench {

using namespace sim;

namespace {

constexpr double wanted = 1e-3;  // [-]

struct Contender {
  std::string name;
  std::function<void(const Point&, double tolerance, const Listener&)> march;
  double loosest = 1e-3, tightest = 1e-8;
  std::size_t stride = 1;  ///< tried at every so many-th point of a bike
};

Contender dopri5() {
  return {"Odeint", [](const Point& point, double tolerance, const Listener& on_cycle) {
            StepOptions options;
            options.method = Method::error_controlled;
            options.tolerance = tolerance;
            alone(point, options, on_cycle);
          }};
}

Contender contender(const Peer& peer) {
  Contender out{peer.name, [peer](const Point& point, double tolerance, const Listener& on_cycle) {
                  Simulation simulation = point.start(point.step);
                  march_by(peer, tolerance, simulation, point.time + marched, on_cycle);
                }};
  // Very slow: one point for each speed and one tolerance, which need not be tight enough.
  if (peer.family == Peer::Family::bdf) {
    out.stride = 5;
    out.loosest = out.tightest = 1e-4;
  }
  return out;
}

std::vector<std::size_t> every(std::size_t stride, std::size_t first_bike = 0, std::size_t bikes = 2) {
  std::vector<std::size_t> out;
  for (std::size_t bike = first_bike; bike < first_bike + bikes; ++bike)
    for (std::size_t k = 0; k < points_a_bike; k += stride) out.push_back(bike * points_a_bike + k);
  return out;
}

/// A contender at the tolerance that it needs.
struct Fitted {
  Contender who;
  double tolerance = 0.0, error = INFINITY, seconds = INFINITY;

  March march() const {
    return [this](const Point& point, const Listener& l) { who.march(point, tolerance, l); };
  }
};

/// Gives up on one that has become slower than `most` seconds before it is accurate enough.
Fitted fit(const Contender& who, double most = INFINITY) {
  Fitted out{who};
  for (double next = who.loosest; next >= who.tightest; next /= out.error > 10.0 * wanted ? 10.0 : 3.0) {
    out.tolerance = next;
    out.seconds = processor_time([&] { out.error = largest_error(out.march(), every(who.stride)); });
    if (out.error <= wanted || out.seconds > most) break;
  }
  return out;
}

/// Processor time of the contender over that of the lanes, both for one point. Each point costs lanes the
/// same.
void compare(Figures& out, const std::string& row, const Fitted& f, double goal) {
  const auto at = every(f.who.stride);
  const auto lanes = [](bool single_rates) -> Work {
    return [=] { all_side_by_side([=] { return make_lane_group({}, single_rates); }); };
  };
  const Work contender = [&] {
    for (const std::size_t i : at) f.who.march(points()[i], f.tolerance, [](const Cycle&) {});
  };
  // Once is enough of what is slow.
  const auto times = f.who.stride == 1
                         ? interleaved(3, processor_time, {contender, lanes(true), lanes(false)})
                         : std::vector{f.seconds, processor_time(lanes(true)), processor_time(lanes(false))};
  const double share = static_cast<double>(at.size()) / static_cast<double>(points().size());
  out.push_back({row, times[0] / (share * times[1]), goal, Figure::Goal::at_least,
                 fmt::format("{}, tolerance {:.0e}, off by {:.2g} %{}; lanes in double precision {:.3g}",
                             f.who.name, f.tolerance, 100.0 * f.error,
                             f.error <= wanted ? "" : ", so that it would need longer still",
                             times[0] / (share * times[2]))});
}

}  // namespace

void integrators(Figures& out) {
  const March fixed = [](const Point& point, const Listener& l) { alone(point, point.step, l); };
  const March in_single = [](const Point& point, const Listener& l) { alone(point, single(point), l); };
  const auto accuracy = [&](const std::string& row, const March& march, std::size_t bike) {
    out.push_back({row, 100.0 * largest_error(march, every(1, bike, 1)), 0.1, Figure::Goal::at_most});
  };
  accuracy("largest error of lambda, air, torque, fixed venturi, %", fixed, 0);
  accuracy("largest error of lambda, air, torque, constant depression, %", fixed, 1);
  accuracy("the same in single precision, fixed venturi, %", in_single, 0);
  accuracy("the same in single precision, constant depression, %", in_single, 1);
  compare(out, "lanes against error-controlled dopri5, per core", fit(dopri5()), 6);
  compare(out, "lanes against CVODE by Adams' method, per core", fit(contender(adams)), 20);
  compare(out, "lanes against CVODE by BDF, per core", fit(contender(bdf)), 20);
  Fitted best{contender(explicit_pairs.front())};
  for (const auto& peer : explicit_pairs)
    if (Fitted one = fit(contender(peer), best.seconds); one.error <= wanted && one.seconds < best.seconds)
      best = one;
  compare(out, "lanes against ARKODE's best explicit pair, per core", best, 9);
}

}  // namespace glassbowl::bench
