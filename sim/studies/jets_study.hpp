#pragma once

#include "sim/studies/jet_search.hpp"

namespace glassbowl::sim {

/// "main jet 1.675 mm to 1.65 mm (leaner)", or "as fitted".
std::string change_text(const std::vector<Adjuster>& adjusters, const std::vector<double>& values);
/// Whether any of the changes goes to the lean side.
bool goes_leaner(const std::vector<Adjuster>& adjusters, const std::vector<double>& values);

/// Where a setting runs leaner than what is fitted: at how many of the points judged, and where most.
struct LeanerThanFitted {
  int points = 0, judged = 0;
  double most = 0.0;   ///< [-] of lambda, leanest cylinder
  std::size_t at = 0;  ///< point
};
LeanerThanFitted leaner_than_fitted(const SearchOutcome& outcome, const Candidate& candidate);
/// Whether it is to be marked: one of its changes goes to the lean side, or it runs leaner at a point judged.
bool runs_leaner(const SearchOutcome& outcome, const Candidate& candidate);

/// The setting to fit: the best found, unless what is fitted is inside the limits and the gain less than the
/// rounding of the search.
const Candidate& advised(const SearchOutcome& outcome);

/// Whether that is inside the limits; if not, nothing is recommended.
bool found_inside(const SearchOutcome& outcome);

/// Where a change of the engine raises compression or enlarges pistons: that knock is not modelled, and what
/// to check. Else nothing.
std::string knock_warning(const ResolvedCase& before, const ResolvedCase& after);

/// What stands before the answer: lean running, and first of all the way down with a jet for the heights.
std::string caution_text(const SearchOutcome& outcome);
/// The answer in words, without caution.
std::string outcome_text(const SearchOutcome& outcome);

/// The search; with `change` in the request once more on the changed engine.
StudyResult run_jets(const ResolvedCase& resolved, const StudyRequest& request, PointScheduler& scheduler);
/// The study of a search that is done; `after` on the changed engine, or null.
StudyResult tell_jets(const ResolvedCase& resolved, const StudyRequest& request, const SearchOutcome& before,
                      const SearchOutcome* after);

}  // namespace glassbowl::sim
