#include "sim/api/mixture_limits.hpp"

#include "sim/run/lean_limit_under_load.hpp"
#include "sim/studies/judging.hpp"

namespace glassbowl::sim {

double lean_limit_at(double filling) {
  return lean_limit_under_load(filling);
}

double rich_limit() {
  return fouling_limit;
}

}  // namespace glassbowl::sim
