#pragma once

#include "sim/studies/adjuster.hpp"
#include "sim/studies/study.hpp"

namespace glassbowl::sim {

/// Openings between which two circuits each give more than a tenth of the fuel.
struct OverlapRange {
  std::string first, second;
  double from = 0.0, to = 0.0;  ///< [-] opening
};
/// Where one circuit takes over from another as the one that gives most.
struct HandOver {
  std::string from, to;
  double at = 0.0;  ///< [-] opening
};

/// Ranges of one pair of shares over rising openings, their ends found by straight lines between points.
std::vector<OverlapRange> find_overlaps(const std::vector<double>& openings, const std::vector<double>& first,
                                        const std::vector<double>& second, const std::string& first_name,
                                        const std::string& second_name);
std::vector<HandOver> find_hand_overs(const std::vector<double>& openings,
                                      const std::vector<std::vector<double>>& shares,
                                      const std::vector<std::string>& names);

/// One step of an adjuster to the rich side, and what it does to trapped lambda at each opening.
struct Effect {
  Adjuster adjuster;
  double value = 0.0;          ///< SI, one step richer; equal to the fitted one at the end of a list
  std::vector<double> change;  ///< [-] of trapped lambda
  double strongest() const;    ///< [-] largest magnitude
};

/// Shares and effects over throttle opening at held speeds.
StudyResult run_overlap(const ResolvedCase& resolved, const StudyRequest& request, PointRunner& runner);

}  // namespace glassbowl::sim
