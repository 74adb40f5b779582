#pragma once

#include <string>
#include <string_view>

namespace glassbowl::sim {

/// Lambda as every text and table says it: "0.934", "no fuel" where there is
/// next to none (`no_fuel`), "-" where it was not computed. At most 7 letters with 3 decimals.
std::string lambda_text(double lambda, int decimals = 3);

/// How far lambda moves, and the ratio of two; NaN where a side has no fuel or was not computed.
double lambda_change(double from, double to);
double lambda_ratio(double from, double to);

/// The ratio in words: "1.084", "no fuel" where a side has none, or "-".
std::string lambda_ratio_text(double from, double to);

/// Lambda as a line of a chart shows it: what lies above ends at its upper edge.
inline constexpr double highest_drawn_lambda = 2.0;
double drawn_lambda(double lambda);

/// Up to here two lambdas are compared to say how far a size moves the mixture. Beyond it, a small change of
/// next to no fuel is a large change of lambda, and nothing burns.
inline constexpr double highest_compared_lambda = 2.0;

/// A number with its decimals, or "-" where it is not known.
std::string number_text(double value, int decimals);

/// "1 point", "3 points".
std::string counted(std::size_t count, std::string_view thing);

}  // namespace glassbowl::sim
