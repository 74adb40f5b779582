#include <string>

#include "models/engine/crank_geometry.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;

void check_slider_crank(std::vector<Row>& rows) {
  const Source heywood{"Heywood, Internal Combustion Engine Fundamentals, 1988", "eqs. 2.6 and 2.11",
                       Seen::computed};
  const double pi = 3.14159265358979323846;
  m::CrankGeometry<> crank{0.080, 0.070, 3.5 * 0.035, 9.5};
  const double clearance = m::cylinder_volume(crank, 0.0).volume;
  const double piston_area = 0.25 * pi * crank.bore * crank.bore;
  struct Angle {
    double degrees, volume, speed;
  };
  for (const Angle& a :
       {Angle{30, 1.72196, 0.98175}, Angle{60, 3.58755, 1.56092}, Angle{90, 5.87007, 1.57080},
        Angle{120, 7.83755, 1.15978}, Angle{150, 9.08318, 0.58905}}) {
    const auto v = m::cylinder_volume(crank, a.degrees * pi / 180.0);
    const std::string at = std::to_string(static_cast<int>(a.degrees)) + " deg";
    rows.push_back({"crank_geometry",
                    "volume over clearance at " + at,
                    heywood,
                    a.volume,
                    v.volume / clearance,
                    relative(2e-5, "printed digits"),
                    "-",
                    {}});
    // Mean piston speed is 2 S per turn, so speed over mean is dV/dθ / A · π/S.
    rows.push_back({"crank_geometry",
                    "piston speed over mean at " + at,
                    heywood,
                    a.speed,
                    v.slope / piston_area * pi / crank.stroke,
                    relative(2e-5, "printed digits"),
                    "-",
                    {}});
  }
  rows.push_back({"crank_geometry",
                  "volume at bottom over top dead centre",
                  {"definition of compression ratio", "", Seen::derived},
                  9.5,
                  m::cylinder_volume(crank, pi).volume / clearance,
                  relative(1e-9, "round-off"),
                  "-",
                  {}});
  rows.push_back({"crank_geometry",
                  "swept volume of 110 x 110 mm, eight cylinders",
                  {"Rajput, A Textbook of Internal Combustion Engines, ch. 11", "p. 406", Seen::computed},
                  8.363,
                  8e3 * m::displacement(m::CrankGeometry<>{0.110, 0.110, 0.2, 9.0}),
                  absolute(0.001, "printed digits"),
                  "l",
                  {}});
}

}  // namespace glassbowl::validation
