#pragma once
#include <memory>
#include <optional>
#include <string>
#include <vector>

#include "viz/cutaway/drawings.hpp"
#include "viz/cutaway/particles.hpp"

namespace glassbowl::viz {

/// A name beside the drawing and the point it names [px].
struct Label {
  std::string text;
  Point target;
  Box box;
};

/// The drawing of one bike: carburetor and engine, each to its own scale, and what moves in them.
class Cutaway {
 public:
  Cutaway(Source& source, const Signals& signals);

  /// Brings everything that moves to `time`: from the last picture, or from a moment before after a jump.
  void advance(double time);

  struct Look {
    bool labels = true;
    bool few_labels = false;  ///< of highlighted parts only
    bool loupe = true;
    bool marks = true;  ///< air marks and fuel dots
    double zoom = 1.0;
    Point zoom_about;  ///< [px]
    std::vector<Part> highlight;
  };
  void draw(Canvas& canvas, const Box& box, const Theme& theme, double time, const Look& look);

  const Hits& hits() const { return hits_; }
  const Stage& carburetor_stage() const { return carburetor_stage_; }
  const Stage& engine_stage() const { return engine_stage_; }
  const CarburetorPlan& plan() const { return plan_; }
  const EnginePlan& engine_plan() const { return engine_plan_; }
  const Particles& particles() const { return particles_; }
  /// Fewer marks and dots where pictures take too long: 1 is all, 4 a quarter.
  void thin_out(unsigned times) { particles_.thin_out(times); }
  double ambient(const Instant& now) const;

 private:
  Box loupe_box(const Box& left, float scale) const;
  void draw_carburetor(const Scene& scene);
  void draw_loupe(Canvas& canvas, const Box& box, const Theme& theme, const Instant& now);

  Source& source_;
  const Signals& signals_;
  CarburetorPlan plan_;
  EnginePlan engine_plan_;
  Particles particles_;
  FlowMarks marks_;
  Hits hits_, loupe_hits_;
  Stage carburetor_stage_, engine_stage_;
  std::optional<double> last_time_;
  int changes_ = 0;

  // Labels keep their places while parts move; they are placed again when the drawing changes.
  std::vector<Label> labels_;
  std::string labels_key_;
};

/// Chooses places for the names of parts: none over another, and beside passages where there is room.
std::vector<Label> place_labels(const Scene& scene, const CarburetorPlan& plan);
void draw_labels(const Scene& scene, const std::vector<Label>& labels);

/// A frame about a part that is spoken of.
void draw_highlight(Canvas& canvas, const Box& box, const Theme& theme);

/// A bar of a round length, so that sizes can be read off.
void draw_scale_bar(Canvas& canvas, const Stage& stage, const Theme& theme, Point bottom_left);

/// The pressure scale with its marks.
void draw_pressure_scale(Canvas& canvas, const Box& box, const Theme& theme);

/// Colour and pattern of every circuit with its mean flow and, of one run, its present one.
struct LegendRun {
  const Signals& signals;
  Instant now;
};
/// Share of each circuit in the fuel of the present engine cycle, in type for the back row.
void draw_share_band(Canvas& canvas, const Box& box, const Theme& theme, const LegendRun& run);
void draw_legend(Canvas& canvas, const Box& box, const Theme& theme, const std::vector<LegendRun>& runs);

}  // namespace glassbowl::viz
