#pragma once
#include <string>
#include <vector>

#include "sim/points/steady_point.hpp"
#include "sim/report/chart.hpp"

namespace glassbowl::sim {

/// What must be seen at this point, by the limits of `judging`; none where all is well or nothing is known.
std::vector<PointMark> marks_of(const SteadyFigures& figures);

/// Their signs, as tables print them behind a number: "!x".
std::string signs_of(const SteadyFigures& figures);

/// The same behind the text of its lambda, apart from words: "no fuel !x".
std::string signs_behind(const SteadyFigures& figures);

/// What the signs mean, for the head of a table.
std::string signs_text();

/// Adds the point's marks to a chart, at (x, y).
void add_marks(Chart& chart, const SteadyFigures& figures, double x, double y);

}  // namespace glassbowl::sim
