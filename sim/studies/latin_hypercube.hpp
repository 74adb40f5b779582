#pragma once
#include <cstddef>
#include <cstdint>
#include <vector>

namespace glassbowl::sim {

/// [sample][input] deviations in standard deviations.
using Scores = std::vector<std::vector<double>>;

/// A Latin hypercube of standard normal deviations: of each input, one sample lies in each of `samples` parts
/// of equal probability. Inputs are nearly uncorrelated where there are more samples than inputs; else they
/// are shuffled independently. The same seed gives the same numbers on every machine.
/// Source  Iman and Conover, Communications in Statistics B 11 (1982), for the ranks (from memory).
Scores normal_scores(std::size_t samples, std::size_t inputs, std::uint64_t seed);

/// The standard normal deviation below which a share `probability` lies, 0 < probability < 1.
double normal_quantile(double probability);

}  // namespace glassbowl::sim
