#pragma once
#include <string>
#include <vector>

#include "viz/look/typeface.hpp"
#include "viz/panels/app.hpp"

namespace glassbowl::viz {

struct WindowPlan {
  unsigned width = 1280, height = 720;
  /// For pictures and measurements of the window itself: after so many pictures write a PNG and end.
  int pictures = 0;
  std::string shot;
  std::string keys;  ///< pressed one after another, by their names in the list of keys: "F1 Shift+Right"
};

/// Opens the window and shows the view until it is closed. Returns a line with frame times.
std::string run_window(App& app, const Typeface& face, const WindowPlan& plan);

}  // namespace glassbowl::viz
