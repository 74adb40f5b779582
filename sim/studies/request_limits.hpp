#pragma once
#include <cstddef>
#include <string>
#include <string_view>
#include <vector>

#include "sim/bike/resolved_case.hpp"
#include "sim/studies/study.hpp"

/// Bounds on what a study may be asked, whether on the command line or by a study's file.
namespace glassbowl::sim {

inline constexpr std::size_t most_values = 200;     ///< of one list
inline constexpr std::size_t most_points = 20'000;  ///< speeds x openings x altitudes x warmth
inline constexpr std::size_t most_variants = 64;
inline constexpr std::size_t most_name_bytes = 200;  ///< of a variant or a second case

/// A list of quantities, its unit, a fair example, and what its values may be.
struct AllowedValues {
  std::string option;
  std::string_view unit;
  double low, high;  ///< SI
  std::string example;
  bool is_bore = false;  ///< of a jet, which has a number stamped on it
};
extern const AllowedValues allowed_speeds, allowed_openings, allowed_altitudes, allowed_warmer;
AllowedValues allowed_targets(const std::string& region);
/// Sizes to try of one adjuster: what its key allows. Throws Error (input) for an adjuster that this
/// carburetor does not have.
AllowedValues allowed_tries(const std::string& adjuster, const ResolvedCase& resolved);

/// Throws Error (input) that names the option, what was asked and what is allowed. Reads every case that the
/// request leads to: what cannot be read is refused now, not after an hour.
void check_request(const StudyRequest& request, const ResolvedCase& resolved);

}  // namespace glassbowl::sim
