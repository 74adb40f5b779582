#pragma once
#include <array>
#include <vector>

#include "viz/look/canvas.hpp"
#include "viz/plots/mixture.hpp"
#include "viz/source/signals.hpp"

namespace glassbowl::viz {

/// Share of each circuit in the fuel over throttle, from the cycles of a run: what carries the engine where,
/// and where two circuits overlap.
class Overlap {
 public:
  Overlap(Source& source, const Signals& signals);

  static constexpr std::size_t bins = 50, circuits = 5;

  /// Shares in each bin of throttle, or nothing where the run never was.
  struct Bin {
    std::array<double, circuits> fuel{};  ///< [kg] delivered while the throttle stood there
    double leanest = 0.0, richest = 1e9;  ///< [-] lambda of the cylinders, 0 and 1e9 without cycles
    double limit = 1e9;                   ///< [-] lowest lean limit of these cycles
    bool has_lambda() const { return leanest > 0.0; }
    bool beyond() const { return has_lambda() && leanest > limit; }
    double total() const;
    /// More than one circuit carries over a tenth.
    bool overlaps() const;
  };
  /// Throttle positions bins lie between; evenly, or most of them at small openings.
  double edge(std::size_t bin, bool enlarged) const;

  void draw(Canvas& canvas, const Box& box, const Theme& theme, const Instant& now, bool enlarged);
  const std::vector<Bin>& collect(bool enlarged);

 private:
  void draw_lambda(Canvas& canvas, const Box& plot, const Theme& theme) const;
  void label_circuits(Canvas& canvas, const Box& plot, const Theme& theme) const;

  Source& source_;
  const Signals& signals_;
  std::vector<Bin> bins_;
  std::size_t rows_ = 0;
  double fastest_ = 0.0;  // [1/s] of the throttle
  bool enlarged_ = false;
};

}  // namespace glassbowl::viz
