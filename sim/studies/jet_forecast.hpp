#pragma once

#include <algorithm>
#include <map>
#include <vector>

#include "sim/points/steady_point.hpp"

namespace glassbowl::sim {

/// Foretells what a combination of sizes does at some places from what each of its sizes does there alone:
/// fuel per air adds up by circuit, and lambda is its inverse. Shares of misfires are added up, too.
class JetForecast {
 public:
  explicit JetForecast(std::vector<SteadyFigures> fitted) : fitted_(std::move(fitted)) {}

  bool knows(std::size_t adjuster, double value) const { return alone_.contains({adjuster, value}); }
  void learn(std::size_t adjuster, double value, std::vector<SteadyFigures> figures) {
    alone_[{adjuster, value}] = std::move(figures);
  }
  /// `values` one per adjuster, all learnt.
  std::vector<SteadyFigures> of(const std::vector<double>& values) const {
    std::vector<SteadyFigures> out = fitted_;
    for (std::size_t i = 0; i < out.size(); ++i) {
      double misfires = fitted_[i].misfires;
      for (const auto value : {&SteadyFigures::trapped, &SteadyFigures::leanest, &SteadyFigures::richest}) {
        const double base = 1.0 / (fitted_[i].*value);
        double sum = base;
        for (std::size_t k = 0; k < values.size(); ++k)
          if (const auto& f = alone_.at({k, values[k]})[i]; f.usable()) sum += 1.0 / (f.*value) - base;
        out[i].*value = 1.0 / std::max(sum, 0.05);
      }
      for (std::size_t k = 0; k < values.size(); ++k)
        if (const auto& f = alone_.at({k, values[k]})[i]; f.usable())
          misfires += f.misfires - fitted_[i].misfires;
      out[i].misfires = std::clamp(misfires, 0.0, 1.0);
    }
    return out;
  }

 private:
  std::vector<SteadyFigures> fitted_;
  std::map<std::pair<std::size_t, double>, std::vector<SteadyFigures>> alone_;
};

}  // namespace glassbowl::sim
