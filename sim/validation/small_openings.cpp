#include <cmath>
#include <string>

#include "models/fuel/mixture_screw.hpp"
#include "models/throat/needle.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;

void check_small_openings(std::vector<Row>& rows) {
  // Straight 2.510 mm for 10 mm, then 1 deg included taper, in a 2.60 mm jet.
  m::Needle<> needle;
  needle.jet_diameter = 2.60e-3;
  const double taper = 2.0 * std::tan(0.5 * 3.14159265358979323846 / 180.0);
  needle.diameter = m::Schedule<>({{0.0, 2.510e-3}, {0.010, 2.510e-3}, {0.040, 2.510e-3 - 0.030 * taper}});
  struct Station {
    double lift, area;
  };
  for (const Station& s : {Station{5, 0.3612}, Station{15, 0.6993}, Station{25, 1.3396}, Station{35, 1.9320}})
    rows.push_back({"needle",
                    "annulus at " + std::to_string(static_cast<int>(s.lift)) + " mm",
                    {"difference of two circles", "", Seen::derived},
                    s.area,
                    1e6 * m::needle_annulus_area(needle, s.lift / 1000.0),
                    absolute(1e-4, "printed digits"),
                    "mm2",
                    {}});

  // Side of the cone's frustum between seat and tip; the model projects it on the seat's plane.
  m::MixtureScrew<> screw;
  screw.seat_bore = 1.0e-3;
  screw.taper = 0.24;
  screw.pitch = 0.5e-3;
  screw.discharge = 1.0;
  struct Turns {
    double turns, area;
  };
  for (const Turns& t : {Turns{1.0, 0.17687}, Turns{1.75, 0.29486}}) {
    screw.turns = t.turns;
    rows.push_back(
        {"mixture_screw",
         "opening of a 0.24 rad tip in a 1 mm seat, " + std::to_string(t.turns).substr(0, 4) + " turns",
         {"MathWorks, hydraulic library documentation", "needle valve, conical seat", Seen::computed_seen},
         t.area,
         1e6 * m::mixture_screw_area(screw),
         relative(0.015, "projected ring against the cone's side: 1 - cos of the half angle"),
         "mm2",
         {}});
  }
  const auto usual = in_range(1.25, 1.75);
  rows.push_back(
      {"mixture_screw",
       "turns out of the default screw",
       {"Small industrial engine manual (auto.manualsonline.com)", "p. 60, pilot screw", Seen::in_source},
       usual.middle,
       m::MixtureScrew<>{}.turns,
       usual.tolerance,
       "-",
       {}});
}

}  // namespace glassbowl::validation
