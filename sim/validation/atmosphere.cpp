#include "models/fluids/atmosphere.hpp"

#include <cmath>
#include <string>

#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

double density(double altitude) {
  const auto air = m::standard_atmosphere(altitude);
  return m::moist_air_density(0.0, air.temperature, air.pressure);
}

}  // namespace

void check_atmosphere(std::vector<Row>& rows) {
  const auto standard = [](const std::string& place) {
    return Source{"ISO 2533:1975, Standard atmosphere (as US Standard Atmosphere 1976)", place,
                  Seen::computed};
  };
  struct Level {
    double altitude, T, p, rho, mu;
  };
  for (const Level& l :
       {Level{0, 288.150, 101325.0, 1.22500, 17.894e-6}, Level{1000, 281.650, 89874.6, 1.11164, 17.578e-6},
        Level{2000, 275.150, 79495.2, 1.00649, 17.260e-6}, Level{3000, 268.650, 70108.5, 0.90912, 16.937e-6},
        Level{4000, 262.150, 61640.2, 0.81913, 16.611e-6}}) {
    const std::string at = "at geopotential " + std::to_string(static_cast<int>(l.altitude)) + " m";
    const auto air = m::standard_atmosphere(l.altitude);
    const auto digits = relative(2e-5, "printed digits");
    rows.push_back(
        {"atmosphere", "temperature " + at, standard("clause 2"), l.T, air.temperature, digits, "K", {}});
    rows.push_back(
        {"atmosphere", "pressure " + at, standard("clause 2"), l.p, air.pressure, digits, "Pa", {}});
    rows.push_back({"atmosphere",
                    "density " + at,
                    standard("clause 2"),
                    l.rho,
                    density(l.altitude),
                    digits,
                    "kg/m3",
                    {}});
    rows.push_back({"atmosphere",
                    "dynamic viscosity " + at,
                    standard("Sutherland's law"),
                    l.mu,
                    m::air_viscosity(air.temperature),
                    relative(5e-5, "printed digits"),
                    "Pa s",
                    {}});
  }

  // 1 psi = 6894.757 Pa, 1 ft = 0.3048 m, T = (t_F + 459.67)/1.8.
  const std::string table = "Engineers Edge, Standard atmospheric data (web table)";
  struct Foot {
    double altitude, psi, fahrenheit;
  };
  for (const Foot& f : {Foot{5000, 12.230, 41.2}, Foot{10000, 10.108, 23.4}}) {
    const std::string at = std::to_string(static_cast<int>(f.altitude)) + " ft";
    const auto air = m::standard_atmosphere(f.altitude * 0.3048);
    rows.push_back({"atmosphere",
                    "pressure at " + at,
                    {table, at, Seen::in_source},
                    f.psi,
                    air.pressure / 6894.757,
                    relative(1e-3, "table over geometric altitude, rounded"),
                    "psi",
                    {}});
    rows.push_back({"atmosphere",
                    "temperature at " + at,
                    {table, at, Seen::in_source},
                    f.fahrenheit,
                    air.temperature * 1.8 - 459.67,
                    absolute(0.1, "printed digits, geometric altitude"),
                    "degF",
                    {}});
  }
  rows.push_back({"atmosphere",
                  "density ratio at 4000 ft",
                  {"US Standard Atmosphere 1976", "table, 4000 ft", Seen::from_memory},
                  0.8881,
                  density(1219.2) / density(0),
                  absolute(5e-4, "table over geometric altitude"),
                  "-",
                  {}});
}

}  // namespace glassbowl::validation
