#pragma once
#include <optional>
#include <string>
#include <vector>

namespace glassbowl::viz {

/// What the command line of glassbowl-view asks for.
struct Options {
  std::string trace, live, beside;
  std::vector<std::string> sets;

  std::string mode = "cutaway", size = "1280x720", font, lesson;
  std::size_t lesson_step = 1;  ///< counted from 1
  bool print = false, light = false, large_type = false;
  std::optional<double> rate;    ///< simulated seconds per second
  std::optional<double> at, to;  ///< [s]

  std::string target;   ///< of an export
  std::string handout;  ///< of a lesson
  int sheets = 1;
  double distance = 7.5;  ///< [m] of who hears
  bool force = false;

  std::string shot, keys;
  int pictures = 60;
  std::vector<float> pointer;  ///< [px] x, y
};

/// Nothing when only help was wanted, which is then printed.
/// Errors   sim::Error{input} for what is unknown, out of range or contradicts itself.
std::optional<Options> read_options(int count, char** arguments);

}  // namespace glassbowl::viz
