#pragma once
#include <filesystem>
#include <optional>

#include "viz/source/signals.hpp"

namespace glassbowl::viz {

struct PagePlan {
  std::filesystem::path target;    ///< .html
  std::optional<double> from, to;  ///< [s] of the run; all of it by default
  bool dark = true;
  bool replace = false;  ///< a file that is there already
};

/// Writes a run as one page that opens in any browser without a network: cutaway with slow motion and
/// scrubber, graphs, and explanations of the parts. It draws from the run's own rows; needs no display.
/// Errors   sim::Error{input} empty span, a file that is there; sim::Error{file} cannot write.
/// On disk  a failed export leaves no file of that name.
void write_page(Source& source, const Signals& signals, const PagePlan& plan);

}  // namespace glassbowl::viz
