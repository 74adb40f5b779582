#pragma once
#include <vector>

#include "sim/cases/keys.hpp"

namespace glassbowl::sim {

/// Sizes and steps that one can buy or set; empty lists mean the common ones that come with the program.
struct Stock {
  std::vector<double> main_jet, main_air_jet, slow_jet, slow_air_jet, needle_jet;  ///< [m] bores
  std::vector<double> needle_raised;                                               ///< [m] by clip or shim
  double screw_step = 0.0;                                                         ///< [-] turns
  double level_step = 0.0;                                                         ///< [m]
};

void declare_stock(Keys& keys, Stock& stock);

/// The lists that come with the program, jets/common.toml. Throws Error{file} if it is missing.
Stock common_stock();

}  // namespace glassbowl::sim
