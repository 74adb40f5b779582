#pragma once
#include <functional>
#include <string>
#include <vector>

#include "viz/look/typeface.hpp"
#include "viz/pacing.hpp"
#include "viz/session.hpp"

namespace glassbowl::viz {

struct WindowPlan {
  unsigned width = 1280, height = 720;
  /// For pictures and measurements of the window itself: after so many pictures write a PNG and end.
  int pictures = 0;
  std::string shot = {};
  bool replace = false;   ///< a file of that name
  std::string keys = {};  ///< pressed one after another, by their names in the list of keys: "F1 Shift+Right"
  bool dark = true, large_type = false;
  bool adapt = false;                 ///< thin marks out while measuring too
  std::function<void()> warmed = {};  ///< called once after the first pictures, when measuring begins
  std::function<void()> ended = {};   ///< called once after the last one
};

/// How long pictures took, from events to the finished picture; fonts and shaders are made before.
struct WindowReport {
  FrameTimes work;
  double processor_time = 0.0;  ///< [s] of all threads, a picture
  double pictures_per_second = 0.0;
};

/// Opens the window and shows the view until it is closed, 60 pictures a second; a measured replay goes as
/// fast as it can.
/// Without a session it begins with the start page.
WindowReport run_window(std::unique_ptr<Session> session, const Typeface& face, const WindowPlan& plan);

}  // namespace glassbowl::viz
