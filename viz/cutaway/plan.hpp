#pragma once
#include <vector>

#include "sim/api/drawing_dimensions.hpp"

namespace glassbowl::viz {

/// Where the carburetor's parts stand in its drawing [m]: throttle shaft at x = 0, heights above the float
/// datum. Bores, heights and places along the plate's sweep are those of the case. What a case does not say
/// (how far apart the circuits lie, how passages run) is laid out here, in the order of the flow.
struct CarburetorPlan {
  explicit CarburetorPlan(const sim::DrawingDimensions& geometry);

  double left, right, bottom, top;  ///< the whole drawing
  double axis, floor, roof;         ///< of the bore
  double horn, choke_x, throat_x, outlet;
  double throat_half;  ///< half the length over which a venturi narrows, or half of the slide
  double bowl_left, bowl_right, bowl_floor, bowl_top;
  double well_left, well_right, well_top, riser_left, riser_right, foot;
  double
      needle_foot;  ///< floor of the bore that takes the needle with its piston down; the foot if shallower
  double gallery, gallery_half;
  double slow_x, slow_channel, slow_half;  ///< riser's middle, channel's height, half of its passage
  double main_air_x, slow_air_x;
  double idle_x;
  double pump_left, pump_right, pump_roof, pump_nozzle_x;
  double enrichment_x;
  double diaphragm_rest, chamber_roof;  ///< diaphragm with the piston down; roof of the chamber above it

  /// Walls of the bore at x, with a vacuum piston at this lift.
  double lower_wall(double x) const;
  double upper_wall(double x, double lift) const;

 private:
  sim::DrawingDimensions g_;
};

/// Where the engine's parts stand [m]: x from the manifold's inlet, y upward from the head's face at the
/// cylinders. Manifold by volume at the depth of the bore, runners and cylinders at their length and bore.
struct EnginePlan {
  explicit EnginePlan(const sim::DrawingDimensions& geometry);

  double left, right, bottom, top;
  double plenum_bottom, plenum_top, plenum_right;
  std::vector<double> intake_x;    ///< middle of each intake port at the head
  std::vector<double> cylinder_x;  ///< middle of each cylinder while it stands upright
  std::vector<double> tilt;        ///< [rad] by which it is turned about its intake port, counterclockwise
  std::vector<double> side;        ///< 1: intake port right of its cylinder's middle, -1: left
  double head, runner_top, runner_half;
  double intake_shift, exhaust_shift;  ///< of the valves from the cylinder's middle
  double clearance;                    ///< head to piston crown at top dead centre
  double skirt, pin, liner;            ///< of the piston; crown to its pin; head to the cylinder's foot
  double crank_drop, crank_web;        ///< head to the crank's middle along the cylinder; web's radius
  bool vee;                            ///< cylinders stand in a V on one crank pin
};

}  // namespace glassbowl::viz
