#pragma once
#include "viz/cutaway/flow_marks.hpp"
#include "viz/cutaway/hits.hpp"
#include "viz/cutaway/plan.hpp"
#include "viz/cutaway/stage.hpp"
#include "viz/look/canvas.hpp"
#include "viz/source/signals.hpp"

namespace glassbowl::viz {

/// What every drawing of a part is given.
struct Scene {
  Canvas& canvas;
  const Theme& theme;
  const sim::DrawingDimensions& geometry;
  const Signals& signals;
  const Instant& now;
  const Stage& stage;
  const FlowMarks& marks;
  Hits& hits;
  double ambient;  ///< [Pa]

  double value(int channel, double fallback = 0.0) const;
  sf::Color pressure(int channel) const;
  /// Metal between two points in metres.
  void metal(double left, double bottom, double right, double top) const;
  /// Fuel of a category: tint and pattern.
  void fuel(double left, double bottom, double right, double top, Hue hue) const;
  /// Empty passage, outlined.
  void passage(double left, double bottom, double right, double top) const;
  /// A jet in a horizontal or upright passage: two lips that leave its bore.
  void jet(double x, double y, double passage_half, const sim::JetSize& size, bool upright) const;
};

}  // namespace glassbowl::viz
