#pragma once

#include <string>
#include <vector>

#include "sim/bike/resolved_case.hpp"
#include "sim/points/steady_point.hpp"

namespace glassbowl::sim {

/// Something on a carburetor that a tuner changes in steps.
struct Adjuster {
  std::string id;                ///< "main_jet"
  std::string name;              ///< "main jet"
  std::string key, unit;         ///< of the case
  std::string undo;              ///< override that switches off a second way of giving the value, or empty
  double fitted = 0.0;           ///< SI
  double step = 0.0;             ///< SI, where there is no list
  std::vector<double> sizes;     ///< SI, rising; empty: any value in steps
  bool larger_is_richer = true;  ///< of an air jet it is false

  /// The size `steps` away from `from` (down if negative), as far as the list goes; a value between two
  /// sizes counts as the nearer one.
  double moved(double from, int steps) const;
  Sets setting(double value) const;
  std::string text(double value) const;  ///< "1.675 mm"
  /// Whether a value makes the mixture leaner than the fitted one: a smaller fuel jet does, a larger air jet.
  bool leaner(double value) const;
};

/// "Leaner than fitted here: main jet below 1.67 mm, main air jet above 1.1 mm, ..." with its line end.
std::string leaner_than_fitted_text(const std::vector<Adjuster>& adjusters);

/// All of this carburetor, from the main jet down.
std::vector<Adjuster> adjusters_of(const ResolvedCase& resolved);
const Adjuster& find_adjuster(const std::vector<Adjuster>& all, const std::string& id);

/// The same case with the common sizes in place of empty lists.
ResolvedCase with_stock(const ResolvedCase& resolved);

}  // namespace glassbowl::sim
