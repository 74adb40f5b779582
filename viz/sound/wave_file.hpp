#pragma once
#include <filesystem>
#include <optional>

#include "viz/source/source.hpp"

namespace glassbowl::viz {

struct SoundPlan {
  std::filesystem::path target;    ///< .wav
  std::optional<double> from, to;  ///< [s] of the run; all of it by default
  double rate = 1.0;               ///< simulated seconds per second: slower is lower
  double distance = 7.5;           ///< [m]
  bool replace = false;            ///< a file that is there already
};

/// What was written.
struct SoundFigures {
  double seconds = 0.0;     ///< of the file
  double full_scale = 0.0;  ///< [Pa] that the largest value of the file stands for
  double level = 0.0;       ///< [dB] re 20 micropascals at that distance, free field
};

/// Writes the sound of a run as a WAV file, computed from its mass flows.
/// Errors   sim::Error{input} no such flows, empty span, a file that is there; sim::Error{file} cannot write.
/// On disk  a failed export leaves no file of that name.
SoundFigures write_sound(Source& source, const SoundPlan& plan);

}  // namespace glassbowl::viz
