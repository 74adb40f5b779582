#pragma once
#include <filesystem>
#include <functional>
#include <optional>

#include "viz/view.hpp"

namespace glassbowl::viz {

struct ExportPlan {
  std::filesystem::path target;  ///< .png, .mp4 or .gif
  unsigned width = 1280, height = 720;
  std::optional<double> from, to;   ///< [s] of the run; a picture uses `from`
  double rate = 1.0 / 20.0;         ///< simulated seconds per second of video
  unsigned frames_per_second = 60;  ///< an animated picture has a quarter
};

/// Draws to a file what the window would show, without the controls. A video needs ffmpeg.
/// Errors   sim::Error{input} unknown ending, empty span; sim::Error{file} no ffmpeg, cannot write.
/// On disk  a failed export leaves no file of that name.
void export_view(View& view, const sf::Font& font, const ExportPlan& plan);

/// One picture of the view as it stands.
sf::Image picture_of(View& view, Canvas& canvas, unsigned width, unsigned height);

/// Reads "1280x720".
std::pair<unsigned, unsigned> read_size(const std::string& text);

}  // namespace glassbowl::viz
