#pragma once
#include "viz/look/canvas.hpp"

namespace glassbowl::viz {

/// Maps metres of one drawing to pixels. x runs with the air toward the engine, y upward.
struct Stage {
  Box box;       ///< [px] where the drawing may be seen
  Point origin;  ///< [px] of the point (0, 0) m
  double pixels_per_m = 1.0;

  Point at(double x, double y) const {
    return {origin.x + static_cast<float>(x * pixels_per_m), origin.y - static_cast<float>(y * pixels_per_m)};
  }
  float length(double metres) const { return static_cast<float>(metres * pixels_per_m); }
  Box area(double left, double bottom, double right, double top) const {
    const Point a = at(left, top), b = at(right, bottom);
    return {a.x, a.y, b.x - a.x, b.y - a.y};
  }
  double x_of(Point p) const { return static_cast<double>(p.x - origin.x) / pixels_per_m; }
  double y_of(Point p) const { return static_cast<double>(origin.y - p.y) / pixels_per_m; }
};

/// Largest stage that shows these metres in a box, the middle in its middle.
Stage fit_stage(const Box& box, double left, double bottom, double right, double top);

/// Looks closer by `factor` about a pixel.
Stage zoomed(const Stage& stage, double factor, Point about);

}  // namespace glassbowl::viz
