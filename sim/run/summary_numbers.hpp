#pragma once
#include <string>
#include <utility>
#include <vector>

#include "sim/run/summary.hpp"

namespace glassbowl::sim {

/// A figure of a summary, with its name in traces (SI but for those whose name says otherwise) and in JSON
/// (the unit in its name). Empty where one of them has none, or says it in another form.
struct SummaryFigure {
  enum class Kind { number, whole, lambda };
  double value;
  std::string number, json;
  double json_scale = 1.0;  ///< of the value in JSON
  Kind kind = Kind::number;
};

/// All figures, each once. The names depend only on what the bike has fitted and on whether there is a
/// throttle movement.
std::vector<SummaryFigure> summary_figures(const Summary& summary);

/// Those that a trace keeps. Nothing that depends on the machine's speed, so equal runs give equal traces.
std::vector<std::pair<std::string, double>> summary_numbers(const Summary& summary);

}  // namespace glassbowl::sim
