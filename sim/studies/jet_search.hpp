#pragma once

#include "sim/studies/adjuster.hpp"
#include "sim/studies/judging.hpp"
#include "sim/studies/steady_map.hpp"

namespace glassbowl::sim {

/// One combination of sizes and what it does over the grid.
struct Candidate {
  std::vector<double> values;          ///< SI, one per adjuster searched
  std::vector<SteadyFigures> figures;  ///< over the whole grid, once computed
  Judgement verdict;                   ///< over the whole grid, once computed
};

struct SearchOutcome {
  SteadyGrid grid;
  std::vector<Adjuster> adjusters;         ///< searched
  std::vector<std::vector<double>> sizes;  ///< SI, tried per adjuster
  Candidate fitted;
  std::vector<Candidate> best;  ///< safe ones, best first
  std::size_t combinations = 0;
  std::size_t checked = 0;     ///< run exactly on the coarse grid
  double surprise = 0.0;       ///< [-] largest difference between error foretold and error run
  std::string nothing_reason;  ///< why `best` is empty
};

/// Searches the combinations of sizes for the lambda targets:
///   1 the fitted setting over the whole grid
///   2 each size alone over a coarse grid; fuel per air of a combination is foretold as the fitted one's plus
///     the changes that each of its sizes makes alone
///   3 exact runs of the best foretold on the coarse grid, until the best three found beat all that is
///   foretold
///     of the rest by more than the largest surprise so far
///   4 exact runs of these over the whole grid; what passes the lean limit or misfires there is dropped
/// Where the usual sizes hold nothing safe, richer ones are added, twice at most; sizes given stand alone.
/// Cost     one map + (sizes - 1) coarse ones + up to 12 coarse and 4 whole ones.
/// Errors   Error{input} for more than 5,000 combinations.
SearchOutcome search_jets(const ResolvedCase& resolved, const StudyRequest& request, PointRunner& runner);

/// "main jet 1.675 mm to 1.65 mm (one size smaller: leaner)", or "as fitted".
std::string change_text(const std::vector<Adjuster>& adjusters, const std::vector<double>& values);
/// Whether any of the changes goes to the lean side.
bool goes_leaner(const std::vector<Adjuster>& adjusters, const std::vector<double>& values);
Sets settings_of(const std::vector<Adjuster>& adjusters, const std::vector<double>& values);

/// The answer in words, without caution.
std::string outcome_text(const SearchOutcome& outcome);

/// The search; with `change` in the request once more on the changed engine.
StudyResult run_jets(const ResolvedCase& resolved, const StudyRequest& request, PointRunner& runner);

}  // namespace glassbowl::sim
