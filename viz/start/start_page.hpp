#pragma once
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "sim/api/background_run.hpp"
#include "viz/session.hpp"

namespace glassbowl::viz {

/// What the program opens with: bikes and rides, lessons, and the user's own files.
class StartPage {
 public:
  StartPage();

  /// Draws the page; a choice once one was made.
  std::optional<Choice> draw(bool& dark, bool& quit);
  /// A file as it is opened from here, by a click or a drop: a trace, else a case that runs live.
  static Choice choice_of(const std::filesystem::path& file);
  void say(std::string problem) { problem_ = std::move(problem); }

  std::size_t bike = 0, ride = 0;  ///< chosen of each list

 private:
  void draw_bikes();
  void draw_rides(std::optional<Choice>& choice);
  void draw_lessons(std::optional<Choice>& choice);
  void draw_files(std::optional<Choice>& choice);

  std::vector<sim::ShippedCase> bikes_, rides_;
  std::vector<Lesson> lessons_;
  std::vector<std::string> recent_;
  std::filesystem::path folder_;
  bool browsing_ = false;
  std::string problem_;
};

}  // namespace glassbowl::viz
