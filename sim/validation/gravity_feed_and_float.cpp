#include <cmath>

#include "models/fuel/bowl.hpp"
#include "models/fuel/tank_feed.hpp"
#include "sim/validation/solve.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;

void check_gravity_feed_and_float(std::vector<Row>& rows) {
  const double rho = 745.0;
  const m::TankFeed<> tank;  // 0.30 m of head with a full tank
  rows.push_back({"tank_feed",
                  "pressure at the seat under 0.30 m of fuel, 745 kg/m3",
                  {"hydrostatics", "", Seen::derived},
                  2192.0,
                  m::feed_pressure(tank, rho * tank.fuel_volume, rho),
                  relative(5e-4, "printed digits"),
                  "Pa",
                  {}});
  rows.push_back({"tank_feed",
                  "tap of 5 mm and hose of 6 mm in series, each Cd 0.6: effective area",
                  {"resistances in series, 1/A2 adds", "", Seen::derived},
                  9.677,
                  1e6 * m::feed_area(tank, 1.0),
                  relative(2e-4, "printed digits"),
                  "mm2",
                  {}});

  m::Bowl<> bowl;
  bowl.seat_bore = 2.3e-3;
  bowl.seat_discharge = 0.6;
  bowl.nominal_feed = 0.0;
  bowl.lever_ratio = 10.0;  // the needle far off its seat: the bore alone meters
  rows.push_back(
      {"bowl",
       "flow of a 2.3 mm seat wide open, Cd 0.6, 0.30 m of head",
       {"Torricelli's law", "", Seen::derived},
       363.0,
       m::bowl_inflow(1.0, m::float_valve_area(bowl, -0.030, 2192.0, rho), 2192.0, rho) / rho * 60e6,
       relative(5e-3, "printed digits; needle at a finite lift"),
       "cm3/min",
       {}});

  // Force of the feed on the needle, as fuel displaced by the float at equal lever arms.
  bowl.lever_ratio = 1.0;
  const double shut = m::float_valve_area(bowl, -0.010, 0.0, rho);
  const double raised =
      find_root([&](double h) { return m::float_valve_area(bowl, h, 2193.0, rho) - shut; }, -0.010, 0.0);
  rows.push_back({"bowl",
                  "fuel displaced to hold a 2.3 mm seat shut against 2193 Pa, equal levers",
                  {"Archimedes' principle, 9.1 mN", "", Seen::derived},
                  1.247,
                  1e6 * (raised + 0.010) * bowl.float_area,
                  absolute(0.003, "printed digits"),
                  "cm3",
                  {}});

  // Ring between a cone and its seat.
  bowl.seat_discharge = 1.0;
  bowl.needle_angle = 1.05;
  rows.push_back(
      {"bowl",
       "opening of a 1.05 rad cone 0.1 mm off a 2.3 mm seat",
       {"MathWorks, hydraulic library documentation", "needle valve, conical seat", Seen::computed_seen},
       0.3553,
       1e6 * m::float_valve_area(bowl, bowl.level - 1e-4, 0.0, rho),
       relative(0.03, "frustum taken at the seat's bore, seat in series"),
       "mm2",
       {}});

  rows.push_back({"bowl",
                  "overflow of a weir 4 mm wide under 2 mm",
                  {"Francis 1883, Q = 1.84 b H^1.5 (SI)", "", Seen::computed},
                  0.6583,
                  1e6 * m::bowl_overflow(bowl, bowl.rim + 0.002, rho) / rho,
                  relative(0.06, "weirs this small scatter; the model rounds the coefficient down"),
                  "cm3/s",
                  {}});
  rows.push_back({"bowl",
                  "level of 30 g of fuel on 18 cm2 above the floor",
                  {"volume over area", "", Seen::derived},
                  22.37,
                  1000.0 * (m::bowl_level(m::Bowl<>{}, 0.030, rho) + m::Bowl<>{}.depth),
                  absolute(0.005, "printed digits"),
                  "mm",
                  {}});
  rows.push_back({"bowl",
                  "bore of the float needle's seat, default",
                  {"Motorcycle service specification (manualshive.com 899369)", "p. 11", Seen::in_source},
                  2.3,
                  1000.0 * m::Bowl<>{}.seat_bore,
                  absolute(0.05, "printed digits"),
                  "mm",
                  {}});
}

}  // namespace glassbowl::validation
