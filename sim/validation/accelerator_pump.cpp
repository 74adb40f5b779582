#include "models/fuel/accelerator_pump.hpp"

#include <string>

#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

/// A 20 mm diaphragm, 1000 N/m override spring, 0.4 x 1.2 mm nozzle at the bowl's level.
m::AcceleratorPump<> example() {
  m::AcceleratorPump<> pump;
  pump.diaphragm_diameter = 0.020;
  pump.override_rate = 1000.0;
  pump.return_preload = 0.0;
  pump.return_rate = 0.0;
  pump.nozzle = {0.40e-3, 1.2e-3, 0.0, 0.0};
  pump.nozzle_height = 0.0;
  pump.pull_over = 0.0;
  pump.leak_area = 0.0;
  return pump;
}

struct Shot {
  double volume = 0.0;    ///< [m³] delivered
  double duration = 0.0;  ///< [s] until 90 % of it has left
};

/// The default pump after the throttle is snapped open, nozzle at bowl pressure.
Shot snap(const m::AcceleratorPump<>& pump) {
  const double rho = 745.0, dt = 1e-4, p = 101325.0;
  const double cam = m::pump_cam_travel(pump, 1.0);
  std::vector<double> delivered;
  double travel = 0.0, total = 0.0;
  for (double t = 0.0; t < 6.0; t += dt) {
    const auto flows = m::evaluate_pump(pump, {travel}, {cam, p, -0.003, 0.027, p, rho, 0.55e-6, 1e-4});
    travel += dt * flows.rate.travel;
    total += dt * flows.nozzle / rho;
    delivered.push_back(total);
  }
  Shot shot{total, 0.0};
  for (const double v : delivered)
    if (v < 0.9 * total) shot.duration += dt;
  return shot;
}

}  // namespace

void check_accelerator_pump(std::vector<Row>& rows) {
  const std::string lichtarowicz = "Lichtarowicz, Duggins & Markland, J. Mech. Eng. Sci. 7(2) 1965, 210-219";
  const double p = 101325.0, spring_travel = 0.62832e-3;  // 0.62832 N on 314.16 mm²: 2000 Pa
  const auto pushed =
      m::evaluate_pump(example(), {1e-3}, {1e-3 + spring_travel, p, 0.0, 0.030, p, 745.0, 0.55e-6, 1e-4});
  rows.push_back({"accelerator_pump",
                  "chamber pressure: 0.628 N on a 20 mm diaphragm",
                  {"force over area", "", Seen::derived},
                  2000.0,
                  pushed.pressure,
                  relative(1e-4, "printed digits"),
                  "Pa",
                  {}});
  rows.push_back({"accelerator_pump",
                  "0.4 mm nozzle under 2 kPa from the spring",
                  {lichtarowicz, "eq. 12 with gasoline", Seen::computed_seen},
                  0.1624,
                  1000.0 * pushed.nozzle,
                  relative(1e-3, "printed digits"),
                  "g/s",
                  {}});
  auto drawn = example();
  drawn.pull_over = 1.0;
  rows.push_back(
      {"accelerator_pump",
       "the same nozzle drawn by 2 kPa of depression (pull-over)",
       {lichtarowicz, "eq. 12 with gasoline", Seen::computed_seen},
       0.1624,
       1000.0 *
           m::evaluate_pump(drawn, {1e-3}, {1e-3, p, 0.0, 0.030, p - 2000.0, 745.0, 0.55e-6, 1e-4}).nozzle,
       relative(1e-3, "printed digits"),
       "g/s",
       {}});
  rows.push_back({"accelerator_pump",
                  "speed of the diaphragm at that flow: 0.1624 g/s over 314.16 mm2",
                  {"conservation of mass", "", Seen::derived},
                  0.694,
                  1000.0 * (pushed.nozzle - pushed.inlet) / (745.0 * m::pump_area(example())),
                  relative(1e-3, "printed digits"),
                  "mm/s",
                  {}});

  const Shot shot = snap(m::AcceleratorPump<>{});
  const auto volume = in_range(0.2, 0.6);
  rows.push_back({"accelerator_pump",
                  "volume of a full stroke, default pump",
                  {"", "motorcycle single 0.2 to 0.6 cm3 per full stroke", Seen::common_practice},
                  volume.middle,
                  1e6 * shot.volume,
                  volume.tolerance,
                  "cm3",
                  {}});
  const auto duration = in_range(0.3, 1.5);
  rows.push_back({"accelerator_pump",
                  "duration of the shot, default pump, to 90 % of the volume",
                  {"", "0.3 to 1.5 s", Seen::common_practice},
                  duration.middle,
                  shot.duration,
                  duration.tolerance,
                  "s",
                  {}});
}

}  // namespace glassbowl::validation
