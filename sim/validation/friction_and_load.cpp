#include <cmath>
#include <string>

#include "models/engine/friction.hpp"
#include "models/engine/load.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;

void check_friction_and_load(std::vector<Row>& rows) {
  // 58 mm stroke, peak pressure 50 bar; mean piston speed 2 S N.
  m::Friction<> friction;
  friction.peak_pressure = 50e5;
  struct Speed {
    double rpm, bar;
  };
  const std::string chen = "Chen & Flynn, SAE 650733, 1965 (SI form in common use)";
  for (const Speed& s : {Speed{4000, 1.400}, Speed{8000, 2.257}})
    rows.push_back({"friction",
                    "friction at " + std::to_string(static_cast<int>(s.rpm)) + " rpm, 58 mm stroke",
                    {chen, "A 0.4, B 0.005, C 0.09, D 0.0009", Seen::computed},
                    s.bar,
                    1e-5 * m::friction_mep(friction, 2.0 * 0.058 * s.rpm / 60.0),
                    relative(5e-4, "printed digits"),
                    "bar",
                    {}});
  const std::string barnes = "Barnes-Moss 1975, in Heywood 1988, eq. 13.6";
  for (const Speed& s : {Speed{1000, 1.17}, Speed{4000, 2.37}, Speed{8000, 5.37}})
    rows.push_back({"friction",
                    "car engines, motored, at " + std::to_string(static_cast<int>(s.rpm)) + " rpm",
                    {barnes, "", Seen::computed},
                    s.bar,
                    1e-5 * m::barnes_moss_mep(s.rpm),
                    relative(1e-3, "printed digits"),
                    "bar",
                    {}});
  // 100 kPa + 10.5 kPa per m/s for plain bearings.
  for (const double speed : {6.0, 10.0, 14.0})
    rows.push_back(
        {"friction",
         "default friction at " + std::to_string(static_cast<int>(speed)) + " m/s",
         {"Blair, Design and Simulation of Four-Stroke Engines, 1999 (in a public forum thread)",
          "100 kPa + 10.5 kPa per m/s, plain bearings", Seen::in_source},
         1.0 + 0.105 * speed,
         1e-5 * m::friction_mep(m::Friction<>{}, speed),
         relative(0.25, "engines differ; rolling-element bearings have less"),
         "bar",
         stated_if(speed < 8.0,
                   "at low speed the default is lighter than plain-bearing engines, and its term in "
                   "peak pressure is taken at 35 bar for all loads",
                   0.35)});
  const auto moderate = in_range(1.0, 2.0);
  rows.push_back(
      {"friction",
       "default friction at 3000 rpm, 70 mm stroke",
       {"Heywood, Internal Combustion Engine Fundamentals, 1988", "ch. 13, usual range", Seen::from_memory},
       moderate.middle,
       1e-5 * m::friction_mep(m::Friction<>{}, 2.0 * 0.070 * 50.0),
       moderate.tolerance,
       "bar",
       {}});

  // A car in a wind tunnel: 22.26 ft2, 88 ft/s, air 0.07489 lb/ft3, drag 68 lbf; book's Cd 0.34.
  m::Load<> load;
  load.wheel_radius = 1.0;
  load.overall_ratio = 1.0;
  load.driveline_efficiency = 1.0;
  load.rolling = 0.0;
  load.gradient = 0.0;
  load.drag_area = 0.34 * 22.26 * 0.09290304;
  rows.push_back({"load",
                  "drag of a car in a wind tunnel at 60 mile/h",
                  {"Cengel & Cimbala, Fluid Mechanics", "ch. 11, example on a car's drag coefficient",
                   Seen::from_memory},
                  68.0,
                  m::road_torque(load, 26.8224, 0.07489 * 16.01846) / 4.448222,
                  relative(0.015, "printed digits of Cd"),
                  "lbf",
                  {}});
  // 280 kg up a 10 % grade at rolling resistance 0.015.
  load.drag_area = 0.0;
  load.rolling = 0.015;
  load.gradient = 0.10;
  rows.push_back({"load",
                  "force on 280 kg up a grade of 0.10, rolling resistance 0.015",
                  {"weight along the slope, standard acceleration", "", Seen::derived},
                  315.8,
                  m::road_torque(load, 1.0, 1.2),
                  relative(2e-4, "printed digits"),
                  "N",
                  {}});
  m::Load<> geared;
  rows.push_back({"load",
                  "inertia of 280 kg felt through 0.31 m and 7.0",
                  {"kinetic energy, reduced to the crank", "", Seen::derived},
                  0.5491,
                  m::reflected_inertia(geared),
                  relative(2e-4, "printed digits"),
                  "kg m2",
                  {}});
  const auto drag = in_range(0.3, 0.6);
  rows.push_back({"load",
                  "drag area of the default motorcycle and rider",
                  {"Cossalter, Motorcycle Dynamics", "ch. 3, drag areas", Seen::from_memory},
                  drag.middle,
                  geared.drag_area,
                  drag.tolerance,
                  "m2",
                  {}});
}

}  // namespace glassbowl::validation
