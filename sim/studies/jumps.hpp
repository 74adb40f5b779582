#pragma once

#include <string>
#include <vector>

#include "sim/studies/steady_map.hpp"

/// Where the mixture jumps from one operating point to its neighbour, and points at which two cycles repeat:
/// what a rider feels as a flat spot.
namespace glassbowl::sim {

/// Two neighbours of a grid between which the mixture may jump.
struct Step {
  std::size_t first = 0, second = 0;  ///< points of the grid, along throttle or speed
  double size = 0.0;                  ///< [-] change of lambda that the slopes on either side do not explain
};

/// Change of lambda between neighbours that counts as more than a slope: twice the rounding of the search, as
/// each of two points may be off by that. Beside it, more than the slopes elsewhere on the same line give:
/// three standard deviations of what they leave unexplained, from its median (4.45 times the median of the
/// magnitude, for a normal distribution).
inline constexpr double least_step = 0.03, medians = 4.45;

/// Steps where a jump is possible, the largest first. Along each line of constant speed, then of constant
/// throttle, through points under load, the line on either side of an interval is continued to its middle;
/// what is left between both is unexplained.
std::vector<Step> steps_of(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures);

/// A jump as it was found: the range was halved until the change stood in a quarter of it.
struct Jump {
  Step step;
  Place from, to;               ///< ends of the range
  SteadyFigures before, after;  ///< what was found there
};

/// What `mark_jumps` found beside the marks.
struct Jumps {
  std::vector<Jump> all;
  std::size_t not_examined = 0;  ///< steps that may be jumps, beyond what a study spends on them
};

/// Looks for jumps in a map and marks its points: `jump` at both ends of one, and `other_...`, the second
/// cycle that repeats, where two do. Each suspected step is halved twice from cold starts; then each of its
/// two points is computed again from the cycle of the other one. What differs by more than `least_step` from
/// the cold start's is a second cycle. So a steep slope is no jump, and costs six points; no more are spent
/// than a tenth of the map, but two steps always.
Jumps mark_jumps(PointScheduler& scheduler, const std::string& case_text, const Sets& sets,
                 const SteadyGrid& grid, const PointAccuracy& accuracy, std::vector<SteadyFigures>& figures);

/// What was found, each a line: "FLAT SPOT likely at 2000 rpm from 15.5 to 16 % throttle: lambda 0.972 or
/// 0.749 ..". Empty where nothing was found.
std::string jump_findings(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures,
                          const Jumps& jumps);

/// The same with what follows from it, and what was not examined.
std::string jumps_text(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures, const Jumps& jumps);

}  // namespace glassbowl::sim
