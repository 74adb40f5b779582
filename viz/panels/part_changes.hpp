#pragma once
#include <span>
#include <string>

#include "sim/api/drawing_dimensions.hpp"

namespace glassbowl::viz {

/// A size that can be changed while a bike runs.
struct PartChange {
  const char* name;
  const char* key;   ///< of the case
  const char* unit;  ///< that it is shown and set in
  double factor;     ///< shown value of one in SI
  double (*present)(const sim::DrawingDimensions&);
  double step;  ///< in that unit
  bool (*fitted)(const sim::DrawingDimensions&);

  double shown(const sim::DrawingDimensions& g) const { return present(g) * factor; }
  /// As a value of the case.
  std::string written(double value) const;
};

/// A defect that can be set while a bike runs.
struct PartFault {
  const char* name;
  const char* key;
  const char* bad;  ///< its value
  bool (*fitted)(const sim::DrawingDimensions&);
};

std::span<const PartChange> part_changes();
std::span<const PartFault> part_faults();

/// The name of a key in the list of parts and faults, or the key itself.
std::string name_of_key(const std::string& key);

}  // namespace glassbowl::viz
