#include "models/engine/wall_heat.hpp"

#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;

void check_wall_heat(std::vector<Row>& rows) {
  rows.push_back({"wall_heat",
                  "coefficient at 60 cm3, 30 bar, 2200 K, 8 m/s",
                  {"Hohenberg, SAE 790825, 1979", "", Seen::computed},
                  978.3,
                  m::hohenberg_coefficient(60e-6, 30e5, 2200.0, 8.0),
                  relative(1e-4, "printed digits"),
                  "W/(m2 K)",
                  {}});
  const Source woschni{"Woschni, SAE 670931, 1967", "SI form of Heywood, eq. 12.19", Seen::computed};
  rows.push_back({"wall_heat",
                  "coefficient at 85 mm, 2000 kPa, 1500 K, 20 m/s",
                  woschni,
                  459.3,
                  m::woschni_coefficient(0.085, 2000e3, 1500.0, 20.0),
                  relative(2e-4, "printed digits"),
                  "W/(m2 K)",
                  {}});
  rows.push_back({"wall_heat",
                  "coefficient at 70 mm, 100 kPa, 350 K, 49.44 m/s",
                  woschni,
                  199.6,
                  m::woschni_coefficient(0.070, 100e3, 350.0, 49.44),
                  relative(3e-4, "printed digits"),
                  "W/(m2 K)",
                  {}});
}

}  // namespace glassbowl::validation
