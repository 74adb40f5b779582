#pragma once
#include "viz/cutaway/scene.hpp"

/// One function per part; each lies in the file of its name.
namespace glassbowl::viz {

void draw_casting(const Scene& scene, const CarburetorPlan& plan);
void draw_bore(const Scene& scene, const CarburetorPlan& plan);
void draw_choke_plate(const Scene& scene, const CarburetorPlan& plan);
void draw_throttle_plate(const Scene& scene, const CarburetorPlan& plan);
void draw_vacuum_piston(const Scene& scene, const CarburetorPlan& plan);
void draw_bowl(const Scene& scene, const CarburetorPlan& plan);
void draw_main_circuit(const Scene& scene, const CarburetorPlan& plan);
void draw_slow_circuit(const Scene& scene, const CarburetorPlan& plan);
void draw_accelerator_pump(const Scene& scene, const CarburetorPlan& plan);
void draw_enrichment(const Scene& scene, const CarburetorPlan& plan);

void draw_manifold(const Scene& scene, const EnginePlan& plan);
void draw_runners(const Scene& scene, const EnginePlan& plan);
void draw_cylinders(const Scene& scene, const EnginePlan& plan);

/// Ends of the throttle plate [m] at an angle from square to the bore: upstream (lower) and downstream end.
struct PlateEnds {
  double lower_x, lower_y, upper_x, upper_y;
};
PlateEnds plate_ends(const sim::DrawingDimensions& geometry, const CarburetorPlan& plan, double angle);

/// Angle of the choke plate [rad] at a closure 0 .. 1: a quarter turn.
double choke_angle(double closure);

}  // namespace glassbowl::viz
