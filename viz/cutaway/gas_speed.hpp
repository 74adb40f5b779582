#pragma once
#include <array>
#include <cstddef>
#include <vector>

#include "viz/cutaway/plan.hpp"
#include "viz/source/signals.hpp"

namespace glassbowl::viz {

/// Speed of the gas along the drawing at one instant [m/s]: mass flow over density and free section.
/// The bore is two streams, above and below the throttle plate, that carry half of the flow each; beyond the
/// manifold's inlet there is one lane per cylinder, through the manifold and down its runner.
class GasSpeed {
 public:
  GasSpeed(const CarburetorPlan& bore, const EnginePlan& engine) : bore_(bore), engine_(engine) {}

  void update(const Signals& signals, const Instant& now);

  double bore_from() const { return from_; }
  double bore_to() const { return to_; }
  double in_bore(double x, bool upper) const;
  /// Height [m] at x of a particle that keeps its share -1 .. 1 of the section.
  double height(double x, double share) const;

  double lane_length(std::size_t lane) const;
  double in_lane(std::size_t lane, double s) const;
  std::size_t lanes() const { return engine_.cylinder_x.size(); }
  /// Flow into each runner [kg/s].
  double runner_inflow(std::size_t lane) const { return inflow_[lane]; }

  /// Section of the bore and gas density between throat and plate.
  double bore_section() const { return section_; }
  double mixing_density() const { return mixing_density_; }

 private:
  static constexpr std::size_t points = 256, lane_points = 64;
  /// Height [m] at x of the inner edge of one stream. The upper one follows the plate behind its shaft, the
  /// lower one before it; the room between them is the plate's lee.
  double edge(double x, bool upper) const;

  const CarburetorPlan& bore_;
  const EnginePlan& engine_;
  double from_ = 0.0, to_ = 0.0, lift_ = 0.0, section_ = 0.0, mixing_density_ = 1.2;
  double end_x_ = 0.0, end_y_ = 0.0;  // of the plate, from its shaft
  std::array<double, points> upper_{}, lower_{};
  std::vector<std::array<double, lane_points>> lane_;
  std::vector<double> inflow_;
};

}  // namespace glassbowl::viz
