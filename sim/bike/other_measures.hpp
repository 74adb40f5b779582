#pragma once
#include <string>
#include <string_view>
#include <vector>

#include "sim/bike/bike.hpp"
#include "sim/bike/known_values.hpp"

/// Sizes that a workshop measures in another way than the model counts them: a pump by its volume per stroke,
/// the plate's stop by a feeler, a filter by its paper, a silencer by its outlet bore.
namespace glassbowl::sim {

struct OtherMeasure {
  const char* path;                           ///< as measured; 0 for none
  const char* means;                          ///< the size it stands for
  double (*value)(const KnownValues& known);  ///< [SI] of that size; NaN where something else is missing
};

const std::vector<OtherMeasure>& other_measures();

/// Declares these keys, and those that only estimates and targets need; call it when all others are declared.
/// What is measured in two ways in one place must agree.
void declare_other_measures(Keys& keys, const Bike<double>& bike);

/// The paper, foam or gauze of a filter as the area of an opening [m2] with the same loss at full power.
/// Source  Darcy's law; permeabilities of engine-air media, 250 to 1,000 L/m2/s at 200 Pa for paper and some
///         1,600 for foam and oiled gauze, from memory.
double filter_opening(double medium_area, std::string_view kind, double displacement, double stroke);

}  // namespace glassbowl::sim
