#pragma once
#include <cstdint>
#include <string>

/// Maps of random legal bikes: whatever fails at a point, the study goes on to its end.
namespace glassbowl::hardening {

struct MapVerdict {
  bool ended_early = false;
  bool too_slow = false;  ///< not tried: hours for a map, or no fixed step can follow it
  std::string words;      ///< what it ended with
  int points = 0;
  int failed = 0;         ///< points not computed
  std::string first_why;  ///< the reason of the first of these
  double wall = 0.0;      ///< [s]
};

/// A map of the bike that belongs to `seed` over a few operating points, each of a few hundred cycles at
/// most. It has ended early if it throws, or leaves a point without figures and without a reason.
MapVerdict try_map(std::uint64_t seed, int most_cycles);

}  // namespace glassbowl::hardening
