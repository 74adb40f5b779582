#include "models/throat/vacuum_piston.hpp"

#include <cmath>
#include <string>

#include "models/throat/venturi.hpp"
#include "sim/validation/solve.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

/// 45 g on a 58 mm diaphragm, spring 0.9 N and 30 N/m, no friction.
m::VacuumPiston<> example() {
  m::VacuumPiston<> p;
  p.mass = 0.045;
  p.diaphragm_diameter = 0.058;
  p.spring_preload = 0.9;
  p.spring_rate = 30.0;
  p.travel = 0.040;
  return p;
}

/// Depression of the chamber that holds the piston still at a lift, the throat taken at `throat` times it.
double holding_depression(const m::VacuumPiston<>& p, double lift, double throat) {
  return find_root(
      [&](double dp) { return m::piston_acceleration(p, lift, 0.0, 1e5, 1e5 - dp, 1e5 - throat * dp); }, 0.0,
      2e4);
}

}  // namespace

void check_vacuum_piston(std::vector<Row>& rows) {
  const auto p = example();
  const Source statics{"static balance of weight, spring and pressure", "", Seen::derived};
  rows.push_back({"vacuum_piston",
                  "depression that holds the piston just off its stop, full diaphragm area",
                  statics,
                  508.0,
                  holding_depression(p, 0.0, 0.0),
                  absolute(0.5, "printed digits"),
                  "Pa",
                  {}});
  rows.push_back({"vacuum_piston",
                  "depression that holds it at 35 mm",
                  statics,
                  905.0,
                  holding_depression(p, 0.035, 0.0),
                  absolute(0.5, "printed digits"),
                  "Pa",
                  {}});
  const double stiffness_over_mass = (m::piston_acceleration(p, 0.010, 0.0, 1e5, 1e5, 1e5) -
                                      m::piston_acceleration(p, 0.020, 0.0, 1e5, 1e5, 1e5)) /
                                     0.010;
  rows.push_back({"vacuum_piston",
                  "undamped frequency of piston on spring",
                  {"harmonic oscillator", "", Seen::derived},
                  4.1,
                  std::sqrt(stiffness_over_mass) / (2.0 * 3.14159265358979323846),
                  absolute(0.05, "printed digits"),
                  "Hz",
                  {}});
  const auto usual = in_range(1000.0, 2500.0);
  rows.push_back({"vacuum_piston",
                  "depression at half lift, default piston, chamber at throat pressure",
                  {"", "motorcycle diaphragm carburetors hold 1 to 2.5 kPa", Seen::common_practice},
                  usual.middle,
                  holding_depression(m::VacuumPiston<>{}, 0.018, 1.0),
                  usual.tolerance,
                  "Pa",
                  {}});

  struct Segment {
    double height, area;
  };
  for (const Segment& s : {Segment{0.2, 0.09827}, Segment{0.6, 0.40439}}) {
    m::VacuumPiston<> round;
    round.slide_diameter = 0.8;  // the segment's area scales with the square of the size: 0.8 m, area in m²
    round.rest_gap = 0.05;
    rows.push_back({"vacuum_piston",
                    "throat area in a round bore of 0.8 opened by " + std::to_string(s.height).substr(0, 3),
                    {"segment of a circle", "", Seen::derived},
                    s.area,
                    m::piston_throat_area(round, s.height - 0.05),
                    absolute(1e-5, "printed digits"),
                    "m2",
                    {}});
  }
  // Chamber gives way to the piston: 58 mm over 10 mm of lift.
  rows.push_back({"vacuum_piston",
                  "volume swept by 10 mm of a 58 mm diaphragm",
                  {"cylinder of 58 mm by 10 mm", "", Seen::derived},
                  26.42,
                  1e6 * (m::piston_chamber_volume(p, 0.010) - m::piston_chamber_volume(p, 0.020)),
                  absolute(0.005, "printed digits"),
                  "cm3",
                  {}});
}

}  // namespace glassbowl::validation
