#pragma once

#include "sim/studies/adjuster.hpp"
#include "sim/studies/study.hpp"

namespace glassbowl::sim {

/// Openings between which two circuits each give more than a tenth of the fuel.
struct OverlapRange {
  std::string first, second;
  double from = 0.0, to = 0.0;  ///< [-] opening
};
/// Where another circuit becomes the dominant one, the one with the largest share.
struct HandOver {
  std::string from, to;
  double at = 0.0;                   ///< [-] opening, by straight lines between points
  double before = 0.0, after = 0.0;  ///< [-] openings of the points on either side
};

/// Ranges of one pair of shares over rising openings, their ends found by straight lines between points.
std::vector<OverlapRange> find_overlaps(const std::vector<double>& openings, const std::vector<double>& first,
                                        const std::vector<double>& second, const std::string& first_name,
                                        const std::string& second_name);
std::vector<HandOver> find_hand_overs(const std::vector<double>& openings,
                                      const std::vector<std::vector<double>>& shares,
                                      const std::vector<std::string>& names);

/// One step of an adjuster to the rich side, and what it does to in-cylinder lambda at each opening.
struct Effect {
  Adjuster adjuster;
  double value = 0.0;                 ///< SI, one step richer; equal to the fitted one at the end of a list
  std::vector<double> change;         ///< [-] of in-cylinder lambda
  std::vector<SteadyFigures> richer;  ///< with that step
  double strongest() const;           ///< [-] largest magnitude
};

/// Openings where `holds` is true, as the points were examined: "0 to 4 % and 13 %"; empty if nowhere.
std::string openings_where(const std::vector<double>& openings, const std::vector<bool>& holds);

/// Dominant circuits and overlaps. Ends between points are rounded inwards, to 0.1 % of the travel.
std::string shares_text(const std::vector<double>& openings, const std::vector<SteadyFigures>& figures);

/// Points beyond the lean limit, or the least margin to it, and the largest change between neighbouring
/// openings: what the table and the charts of the same figures mark.
std::string lean_text(const std::vector<double>& openings, const std::vector<SteadyFigures>& figures);

/// Adjusters that change lambda nowhere near as their circuit's share of the fuel would suggest, and why.
std::string no_effect_text(const std::vector<double>& openings, const std::vector<SteadyFigures>& figures,
                           const std::vector<Effect>& effects, SlowSource slow_source);

/// Shares and effects over throttle opening at held speeds.
StudyResult run_overlap(const ResolvedCase& resolved, const StudyRequest& request, PointScheduler& scheduler);

}  // namespace glassbowl::sim
