#pragma once

#include "sim/bike/bike.hpp"
#include "sim/cases/keys.hpp"

namespace glassbowl::sim {

/// Warns of a bike that is legal but hardly is one: parts that do not fit one another, sizes outside what
/// engines of that displacement have, circuits that are missing. Each warning says what would happen and what
/// to look at. Call it with a sound case only.
///
/// Sources  valve heads over bore: Heywood 1988, table 6.1, from memory. All other ranges are common
/// practice, no published source; each warning says so.
void warn_of_the_implausible(Keys& keys, const Bike<double>& bike);

}  // namespace glassbowl::sim
