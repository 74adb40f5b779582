#pragma once
#include <string>
#include <vector>

#include "sim/bike/resolved_case.hpp"
#include "sim/points/point_scheduler.hpp"
#include "sim/points/steady_point.hpp"
#include "sim/report/measuring_place.hpp"

namespace glassbowl::sim {

/// A size that is not the owner's, and what its uncertainty does.
struct UnmeasuredSize {
  Origin origin;
  std::string unit;
  Spread spread;                          ///< as it is known now
  std::vector<double> lambda;             ///< [-] change at each point for half of its range; NaN: not known
  double of_lambda = 0.0;                 ///< [-] root mean square of these
  double of_margin = 0.0;                 ///< [-] of the least margin to the lean limit
  double worth = 0.0;                     ///< [-] variance that measuring it takes away
  const MeasuringPlace* place = nullptr;  ///< null: no workshop measures it
};

struct WhatToMeasure {
  std::vector<Place> places;
  std::vector<SteadyFigures> as_described;
  std::vector<UnmeasuredSize> sizes;  ///< most worth first
  double margin = 0.0;                ///< [-] least margin to the lean limit at these points
  std::vector<double> range;          ///< [-] half of the 95 % range of lambda at each point
  double range_now = 0.0;             ///< [-] their root mean square
  double range_after = 0.0;           ///< [-] the same once the first ten of the sheet are measured
};

/// Which sizes to measure first. Each estimated, borrowed or default size of the machine is moved by half of
/// its range's half (about one standard deviation); its share of the variance of lambda over four points, and
/// of the least lean margin, is (derivative x half of the 95 % range)^2, and measuring it leaves the share
/// that its tool does. First order: sizes are taken to be independent and their effects to add up.
/// Source  JCGM 100:2008 (GUM), eq. 10, for the sum of variances. Throws what PointScheduler throws.
WhatToMeasure find_what_to_measure(const ResolvedCase& resolved, PointScheduler& scheduler);

/// The first `count` in words, a line each.
std::string what_to_measure_text(const WhatToMeasure& found, std::size_t count);

/// A page to print: the first ten on one sheet of A4, with a drawing of each place, tool and blank.
std::string measuring_sheet_html(const ResolvedCase& resolved, const WhatToMeasure& found);

}  // namespace glassbowl::sim
