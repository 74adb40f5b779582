#pragma once
#include <map>
#include <string>
#include <vector>

#include "sim/studies/study.hpp"
#include "sim/studies/uncertain_points.hpp"

namespace glassbowl::sim {

/// The five uncertain sizes that contribute most to what is not known of lambda, as a table; the method
/// stands in its head. Nothing where no bikes were drawn.
std::string what_matters_text(const UncertainPoints& points);

/// The same in sentences, a line each, for a page.
std::string named_text(const UncertainPoints& points);

/// "Lambda is sure to 0.04 below 15 % throttle, ...": by region half of the widest 95 % range.
std::string sure_text(const UncertainPoints& points);

/// How many values of the machine rest on what, and how sure lambda is: for the sheet.
std::string rests_on_text(const ResolvedCase& resolved, const UncertainPoints& points);

/// Range of lambda at each drawn place, a line each; for a study whose table shows none.
std::string ranges_text(const UncertainPoints& points, const std::vector<SteadyFigures>& given);

/// In-cylinder lambda over throttle with its 95 % band at up to three speeds of one altitude.
Chart band_chart(const SteadyGrid& grid, const std::vector<SteadyFigures>& figures,
                 const UncertainPoints& points, std::size_t altitude, const std::string& name,
                 const std::string& title);

/// Axis and variables of the uncertain sizes and their shares; what the study's JSON is made of.
void add_contributions(ResultFile& file, const UncertainPoints& points);

/// Range of lambda over the whole grid, each point by the nearest place drawn.
void add_ranges(ResultFile& file, const SteadyGrid& grid, const std::vector<SteadyFigures>& figures,
                const UncertainPoints& points, const std::string& prefix = "");

}  // namespace glassbowl::sim
