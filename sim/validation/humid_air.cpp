#include <string>

#include "models/fluids/atmosphere.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;

void check_humid_air(std::vector<Row>& rows) {
  const std::string steam = "Cengel & Boles, Thermodynamics, table A-4 (saturated water)";
  struct Saturation {
    double celsius, kPa;
  };
  for (const Saturation& s : {Saturation{5, 0.8725}, Saturation{15, 1.7057}, Saturation{25, 3.1698},
                              Saturation{35, 5.6291}, Saturation{45, 9.5953}}) {
    rows.push_back({"atmosphere",
                    "saturation pressure of water at " + std::to_string(static_cast<int>(s.celsius)) + " C",
                    {steam, "", Seen::from_memory},
                    s.kPa,
                    m::water_saturation_pressure(s.celsius + 273.15) / 1000.0,
                    relative(1.5e-3, "the fit's own scatter against steam tables"),
                    "kPa",
                    {}});
  }
  const std::string power = "Mathur & Sharma, Internal Combustion Engine, ch. 27";
  rows.push_back({"atmosphere",
                  "saturation pressure used at 25 C",
                  {power, "worked example", Seen::in_source},
                  3.2,
                  m::water_saturation_pressure(298.15) / 1000.0,
                  absolute(0.05, "printed digits"),
                  "kPa",
                  {}});
  rows.push_back({"atmosphere",
                  "saturation pressure used at 45 C",
                  {power, "worked example", Seen::in_source},
                  9.6,
                  m::water_saturation_pressure(318.15) / 1000.0,
                  absolute(0.05, "printed digits"),
                  "kPa",
                  {}});

  const std::string buck = "Buck, Research Manual, 1996";
  for (const Saturation& s : {Saturation{10, 1.2279}, Saturation{30, 4.245}})
    rows.push_back(
        {"atmosphere",
         "saturation pressure, own formula, at " + std::to_string(static_cast<int>(s.celsius)) + " C",
         {buck, "eq. for liquid water", Seen::computed},
         s.kPa,
         m::water_saturation_pressure(s.celsius + 273.15) / 1000.0,
         relative(2e-4, "printed digits"),
         "kPa",
         {}});

  struct Moist {
    double celsius, humidity, rho;
  };
  for (const Moist& a :
       {Moist{25, 0.0, 1.18393}, Moist{25, 0.5, 1.17693}, Moist{25, 1.0, 1.16993}, Moist{35, 0.8, 1.12627}})
    rows.push_back({"atmosphere",
                    "density of air at 1 atm, " + std::to_string(static_cast<int>(a.celsius)) +
                        " C, humidity " + std::to_string(static_cast<int>(100 * a.humidity)) + " %",
                    {"ideal-gas mixture of dry air and water vapour", "Buck 1996 for vapour", Seen::derived},
                    a.rho,
                    m::moist_air_density(a.humidity, a.celsius + 273.15, 101325.0),
                    relative(5e-5, "printed digits"),
                    "kg/m3",
                    {}});

  // Humidity ratio ω kg/kg dry air; the model states w = ω/(1 + ω).
  const double w = m::moist_air_water_fraction(0.75, 298.15, 100e3);
  rows.push_back({"atmosphere",
                  "humidity ratio of a room at 25 C, 100 kPa, 75 %",
                  {"Cengel & Boles, Thermodynamics", "example on the amount of water vapour in room air",
                   Seen::from_memory},
                  0.0152,
                  w / (1.0 - w),
                  absolute(1e-4, "printed digits; the book rounds 0.01515 up"),
                  "kg/kg",
                  {}});
}

}  // namespace glassbowl::validation
