#pragma once

#include <cmath>
#include <map>
#include <string>

#include "sim/studies/steady_map.hpp"

/// What counts as a good, a dangerous and a fouling mixture. All limits here are common practice, no
/// published source; they are the program's choice and said wherever they are used.
namespace glassbowl::sim {

/// [-] lambda difference below which two settings cannot be told apart: what the model knows of a mixture.
inline constexpr double model_accuracy = 0.015;
inline constexpr double fouling_limit = 0.72;  ///< [-] richer for long soots plugs and washes the bore

/// Richest-to-leanest rule: the more the cylinder is filled, the less lean it may run.
///   0.95 at a manifold pressure of 0.9 of that outside and above, 1.20 at 0.4 and below, straight between.
double lean_limit(double load);

/// Whether the engine pulls here: on the overrun a mixture may fail to light without harm.
bool pulls(const SteadyFigures& figures);
/// Full throttle at a crawl: nobody rides there, so it counts neither for a target nor for fouling.
bool lugging(const Place& place);

std::string region_of(double opening);  ///< "small" below 15 %, "part" below 60 %, "full"
std::map<std::string, double> usual_targets();

struct Judgement {
  double error = 0.0;  ///< [-] root mean square of lambda over target less 1, where the engine pulls
  double lean_margin = INFINITY;  ///< [-] least distance below the lean limit; negative: beyond it
  std::size_t lean_at = 0;        ///< point of the grid
  double rich_margin = INFINITY;  ///< [-] least distance above the fouling limit
  std::size_t rich_at = 0;
  int misfiring = 0;  ///< points that pull and miss
  int unsettled = 0;  ///< points that do not repeat, or were not computed
  int failed = 0;     ///< of these, not computed: nothing is known there
  /// Inside the lean limit by more than the model can be wrong, every charge under load lit, all known.
  bool safe() const { return lean_margin >= model_accuracy && misfiring == 0 && failed == 0; }
};

/// Judges a map; what was not computed counts as unsafe. `error` covers what pulls and is not lugging.
Judgement judge(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures,
                const std::map<std::string, double>& targets);

/// "at 3,000 1/min and 20 %", with the altitude where there is more than one.
std::string place_text(const SteadyGrid& grid, std::size_t i);

}  // namespace glassbowl::sim
