#pragma once

#include <string>
#include <utility>
#include <vector>

#include "sim/bike/resolved_case.hpp"

namespace glassbowl::sim {

/// How many values of a machine are its owner's, and where the others came from.
struct Provenance {
  std::size_t own = 0, overrides = 0;                         ///< overrides are among the own
  std::vector<std::pair<std::string, std::size_t>> borrowed;  ///< by file, most first
  std::size_t defaults = 0;

  std::size_t borrowed_in_all() const;
};

/// Whether a key describes the machine as it is fitted: not the ride, the weather, the fuel, the run, a
/// fault, or a part that this carburetor does not have.
bool describes_machine(const Origin& origin, const Bike<double>& bike);

Provenance provenance_of(const ResolvedCase& resolved);

/// In words, without an end of line: "9 of its own, 60 borrowed (...), 62 defaults".
std::string provenance_text(const ResolvedCase& resolved);

}  // namespace glassbowl::sim
