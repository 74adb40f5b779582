#pragma once
#include <filesystem>
#include <memory>
#include <optional>
#include <string>

#include "sim/api/new_file.hpp"
#include "viz/view.hpp"

namespace glassbowl::viz {

struct ExportPlan {
  std::filesystem::path target;  ///< .png, .mp4 or .gif
  unsigned width = 1280, height = 720;
  std::optional<double> from, to;   ///< [s] of the run; a picture uses `from`
  double rate = 1.0 / 20.0;         ///< simulated seconds per second of video
  unsigned frames_per_second = 60;  ///< an animated picture has a quarter
  bool replace = false;             ///< a file that is there already
};

/// Draws to a file what the window would show, without the controls, one picture a step. A video needs
/// ffmpeg.
/// Errors   sim::Error{input} unknown ending, empty span, a name that cannot be taken (`check_output`);
///          sim::Error{file} no ffmpeg, cannot write.
/// On disk  a failed or abandoned export leaves no file of that name.
class ExportJob {
 public:
  ExportJob(View& view, const sf::Font& font, ExportPlan plan);
  ~ExportJob();

  /// False once the last picture is in and the file has its name.
  bool step();
  double done() const;  ///< 0 .. 1
  const std::filesystem::path& target() const { return plan_.target; }

 private:
  class Encoder;
  void finish();
  [[noreturn]] void fail(const std::string& why);

  View& view_;
  Canvas canvas_;
  ExportPlan plan_;
  std::optional<sim::NewFile> file_;
  std::unique_ptr<Encoder> encoder_;  // writes into the file
  double from_ = 0.0, to_ = 0.0, last_ = 0.0;
  unsigned rate_ = 1;
  long frames_ = 1, next_ = 0;
};

/// All steps at once.
void export_view(View& view, const sf::Font& font, const ExportPlan& plan);

/// The first of stem_1.ending, stem_2.ending, ... that is not there yet, in the present folder.
std::filesystem::path free_name(const std::string& stem, const std::string& ending);

/// One picture of the view as it stands.
sf::Image picture_of(View& view, Canvas& canvas, unsigned width, unsigned height);

/// Reads "1280x720".
std::pair<unsigned, unsigned> read_size(const std::string& text);

}  // namespace glassbowl::viz
