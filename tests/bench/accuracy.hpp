#pragma once
#include <functional>
#include <vector>

#include "tests/bench/points.hpp"

/// How far a method's cycle means lie from those of a tight error-controlled reference.
namespace glassbowl::bench {

/// Takes one point on over the common stretch of time, and tells every cycle that ends on the way.
using Listener = std::function<void(const sim::Cycle&)>;
using March = std::function<void(const Point&, const Listener&)>;

/// Largest relative error of lambda, air and gas torque (over itself and 1 N m) at the points with these
/// numbers; means are over all whole cycles of the stretch.
double largest_error(const March& march, const std::vector<std::size_t>& at);

}  // namespace glassbowl::bench
