#pragma once
#include <string>
#include <string_view>
#include <vector>

namespace glassbowl::sim {

/// Where and with what a workshop measures a size.
struct MeasuringPlace {
  const char* path;   ///< of the size that it tells, or of the way in which it is measured
  const char* tells;  ///< key of the size in the model; the same where they do not differ
  const char* name;   ///< in words
  const char* how;    ///< one or two sentences
  const char* tool;
  const char* unit;       ///< behind the blank
  double accuracy;        ///< [-] share of the value, 95 %, that the tool leaves
  const char* drawing;    ///< "carburetor", "engine" or "inlet"
  double x1, y1, x2, y2;  ///< the two ends of its dimension line in the drawing
};

const std::vector<MeasuringPlace>& measuring_places();
/// The place that tells the size `path`, or null.
const MeasuringPlace* find_measuring_place(std::string_view path);

/// The three drawings, once a page, for `drawing_of` to show parts of. Own work, not to scale.
std::string drawing_definitions();
/// A picture of one place: part of a drawing with its dimension.
std::string drawing_of(const MeasuringPlace& place);

}  // namespace glassbowl::sim
