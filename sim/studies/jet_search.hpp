#pragma once

#include <memory>

#include "sim/studies/adjuster.hpp"
#include "sim/studies/judging.hpp"
#include "sim/studies/jumps.hpp"
#include "sim/studies/steady_map.hpp"
#include "sim/studies/uncertain_points.hpp"

namespace glassbowl::sim {

/// One combination of sizes and what it does over the grid.
struct Candidate {
  std::vector<double> values;          ///< SI, one per adjuster searched
  std::vector<SteadyFigures> figures;  ///< over the whole grid, once computed
  Judgement verdict;                   ///< over the whole grid, once computed
  Jumps jumps{};                       ///< the same
};

struct SearchOutcome {
  SteadyGrid grid;
  std::vector<Adjuster> adjusters;         ///< searched
  std::vector<std::vector<double>> sizes;  ///< SI, tried per adjuster
  Candidate fitted;
  std::vector<Candidate> best;  ///< inside the lean limit without misfires, best first
  std::size_t combinations = 0;
  std::size_t sampled = 0;                ///< places of the grid on which combinations were compared first
  std::size_t checked = 0;                ///< combinations run exactly on these
  std::size_t whole = 0;                  ///< combinations run over the whole grid
  std::size_t rejected = 0;               ///< combinations foretold or found to be beyond a limit
  double surprise = 0.0;                  ///< [-] largest difference between error foretold and error run
  double closest = -INFINITY;             ///< [-] largest lean margin seen, whole runs counting before others
  std::map<std::string, double> targets;  ///< region -> lambda wanted
  /// Bikes drawn from the spreads of the sizes with the jets as fitted, at the places that decide.
  std::shared_ptr<const UncertainPoints> uncertain;
  bool too_likely = false;  ///< no combination is seldom enough beyond the lean limit: these are least often
  std::vector<Judgement> descent;  ///< of each of `best` at sea level, where the grid lies higher; else empty
};

/// Searches the combinations of sizes for the lambda targets:
///   1 the fitted setting over the whole grid
///   2 each size alone on a sample of it: where a coarse grid is judged, and where the fitted setting comes
///     nearest to the lean limit; fuel per air of a combination is foretold as the fitted one's plus the
///     changes that each of its sizes makes alone
///   3 exact runs of the best foretold on the sample, until the best three found beat all that is foretold
///     of the rest that may be inside the limits by more than the largest surprise so far
///   4 exact runs of these over the whole grid; what passes the lean limit or misfires there is dropped
/// With bikes to draw, each judgement also says how many of these would be beyond the lean limit anywhere,
/// and combinations with a probability above the one allowed rank behind all others. The drawn bikes have the
/// jets as fitted and are computed at up to ten places; a combination's lambda at any place deviates in the
/// same proportion as at the nearest of these. Where the usual sizes promise or hold nothing inside the
/// limits, richer ones are added; sizes given stand alone. Cost     one map + (sizes - 1) samples + up to 12
/// samples and 5 maps. Errors   Error{input} for more than 5,000 combinations.
SearchOutcome search_jets(const ResolvedCase& resolved, const StudyRequest& request,
                          PointScheduler& scheduler);

Sets settings_of(const std::vector<Adjuster>& adjusters, const std::vector<double>& values);

}  // namespace glassbowl::sim
