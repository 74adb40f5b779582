#pragma once
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "viz/cutaway/cutaway.hpp"
#include "viz/lessons/lesson_run.hpp"
#include "viz/playback.hpp"
#include "viz/plots/overlap.hpp"
#include "viz/plots/strips.hpp"

namespace glassbowl::viz {

enum class Mode { cutaway, overlap, beside };

/// One run with all that draws it.
struct ShownRun {
  explicit ShownRun(std::unique_ptr<Source> source, const sf::Font& font);
  std::unique_ptr<Source> source;
  Signals signals;
  Cutaway cutaway;
  Strips strips;
  Overlap overlap;
  Mixture mixture;
};

/// The whole picture but for the controls: what a window shows and what is exported.
class View {
 public:
  View(const sf::Font& font, std::unique_ptr<Source> first, std::unique_ptr<Source> second = nullptr);

  Playback playback;
  Mode mode = Mode::cutaway;
  bool dark = true;
  bool print = false;  ///< black on white
  bool show_strips = true;
  bool moving = false;  ///< time runs: a replay plays, or a live bike
  bool enlarge_overlap = false;
  bool align_crank = false;  ///< two runs: the second at the same crank angle, not at the same time
  bool large_type = false;   ///< for a projector
  Cutaway::Look look;
  Point pointer{-1, -1};         ///< [px] for the explanation of the part below it
  std::optional<PartId> spoken;  ///< part that is explained without a pointer

  ShownRun& first() { return *first_; }
  ShownRun* second() { return second_.get(); }
  const Theme& theme() const { return print ? print_theme() : dark ? dark_theme() : light_theme(); }

  /// Time of the second run that is shown beside the first one.
  double second_time() const;

  void set_lesson(std::unique_ptr<LessonRun> lesson);
  LessonRun* lesson() { return lesson_.get(); }
  /// Where the lesson was drawn last [px].
  const Box& lesson_box() const { return lesson_box_; }
  /// Moves the enlarged drawing under a hand that drags it.
  void drag_drawing(Point by);

  /// Explains the next part in the drawing, or the one before.
  void speak(int step);
  /// Looks closer at the carburetor, about a pixel or else the part that is explained.
  void zoom_drawing(double factor, std::optional<Point> about);
  /// Scale of text and lines in a picture of this size: 1 at 1280 x 720, more for large type.
  float scale(Point size) const { return scale_of(size, large_type); }
  static float scale_of(Point size, bool large_type);

  /// Moves time on by `wall` seconds.
  void advance(double wall);
  /// Fills the canvas for `content`, the part of the picture that controls leave free; it lies on a ground of
  /// the theme's background.
  void draw(Canvas& canvas, Point size, const Box& content);

 private:
  void follow_lesson();
  bool draw_alarm(Canvas& canvas, const Box& within, ShownRun& run);
  std::string what_differs(bool of_first) const;
  /// Time that drawings show: above a tenth of real time the last one at a fixed crank angle.
  double drawn_time(ShownRun& run) const;
  bool stroboscope() const;
  void draw_headline(Canvas& canvas, const Box& box, ShownRun& run);
  void draw_cutaway(Canvas& canvas, const Box& box);
  void draw_beside(Canvas& canvas, const Box& box);
  void draw_explanation(Canvas& canvas, const Box& within, ShownRun& run);

  std::optional<Point> middle_of(PartId part) const;

  std::unique_ptr<ShownRun> first_, second_;
  std::unique_ptr<LessonRun> lesson_;
  Box lesson_box_;
  std::size_t lesson_step_ = 0;     // whose span the strips show
  std::vector<Strip> kept_strips_;  // as they were before the lesson
};

}  // namespace glassbowl::viz
