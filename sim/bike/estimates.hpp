#pragma once
#include <string>
#include <vector>

#include "sim/bike/known_values.hpp"
#include "sim/cases/spread.hpp"

namespace glassbowl::sim {

/// A size that nobody gave, found from those that are given.
struct Estimate {
  std::string path;
  std::string value;  ///< TOML
  Spread spread;      ///< its reason is the rule with its source
};

/// Sizes that a case does not give, each by a rule from those it gives and from earlier estimates, in the
/// order of their rules. What is needed and cannot be estimated is left out, and missed when the case is
/// read. Each estimate is added to `known`. Spreads are half of a 95 % range, by judgement unless the rule
/// names a source.
std::vector<Estimate> estimate_missing(KnownValues& known);

/// Plate angle [rad] at which air for an idle of `speed` [rad/s] passes: the start of a search.
/// Source  physics of a choked gap; an idle of 1,300 rpm and 250 cm3 at 40 kPa takes 3.95 mm2, computed.
double idle_stop_guess(const KnownValues& known, double speed);

}  // namespace glassbowl::sim
