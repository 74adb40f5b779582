#pragma once
#include <cstddef>
#include <functional>
#include <vector>

namespace glassbowl::sim {

/// Points of Sobol's sequence in the unit cube, none on its faces.
std::vector<std::vector<double>> sobol_points(std::size_t count, std::size_t dimensions);

/// How the variance of a function comes from its independent inputs.
struct SobolIndices {
  double mean = 0.0, variance = 0.0;
  std::vector<double> first;  ///< [-] share of the variance by this input alone
  std::vector<double> total;  ///< [-] by it and all that it does together with others
};

/// `function` of inputs that are uniform from 0 to 1; it is called samples x (inputs + 2) times.
/// Source  Saltelli et al., Computer Physics Communications 181 (2010) 259, for the estimators: first order
///   of Saltelli, total of Jansen (from memory).
SobolIndices sobol_indices(std::size_t inputs, std::size_t samples,
                           const std::function<double(const std::vector<double>&)>& function);

}  // namespace glassbowl::sim
