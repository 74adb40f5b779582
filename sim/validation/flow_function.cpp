#include "models/gas/flow_function.hpp"

#include <cmath>
#include <string>

#include "models/numerics/smooth_root.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

/// ṁ √(R T0)/(A p0) of the program's law: at p0 = 1 Pa and ρ0 = 1 kg/m³, R T0 is 1.
double mass_flow_parameter(const m::GasFlow& gas, double pressure_ratio) {
  return m::orifice_flow(gas, 1.0, 1.0, 1.0, pressure_ratio, 1.0, 0.0);
}

std::string two_digits(double x) {
  return std::to_string(x).substr(0, 4);
}

}  // namespace

void check_flow_function(std::vector<Row>& rows) {
  const m::GasFlow gas(1.4);
  const double choked = mass_flow_parameter(gas, 0.1);

  struct Mach {
    double M, pressure_ratio, area_ratio;
  };
  for (const Mach& r : {Mach{0.1, 0.99303, 5.8218}, Mach{0.2, 0.97250, 2.9635}, Mach{0.3, 0.93947, 2.0351},
                        Mach{0.4, 0.89561, 1.5901}, Mach{0.5, 0.84302, 1.3398}, Mach{0.6, 0.78400, 1.1882},
                        Mach{0.7, 0.72093, 1.0944}, Mach{0.8, 0.65602, 1.0382}, Mach{0.9, 0.59126, 1.0089}})
    rows.push_back({"flow_function",
                    "area over throat area A/A* at Mach " + two_digits(r.M),
                    {"NACA Report 1135, 1953", "table I", Seen::from_memory},
                    r.area_ratio,
                    choked / mass_flow_parameter(gas, r.pressure_ratio),
                    relative(5e-4, "printed digits of p/p0"),
                    "-",
                    {}});
  for (const Mach& r : {Mach{0.3, 0.9395, 2.035}, Mach{0.8, 0.6560, 1.038}})
    rows.push_back(
        {"flow_function",
         "A/A* at Mach " + two_digits(r.M),
         {"Fox & McDonald, Introduction to Fluid Mechanics", "ch. 12, isentropic table", Seen::in_source},
         r.area_ratio,
         choked / mass_flow_parameter(gas, r.pressure_ratio),
         relative(1e-3, "printed digits of p/p0"),
         "-",
         {}});

  struct Critical {
    double gamma, ratio, psi;
  };
  for (const Critical& c : {Critical{1.40, 0.528282, 0.684731}, Critical{1.35, 0.536851, 0.676145},
                            Critical{1.30, 0.545728, 0.667262}}) {
    const m::GasFlow other(c.gamma);
    const Source heywood{"Heywood, Internal Combustion Engine Fundamentals, 1988", "appendix C",
                         Seen::computed};
    rows.push_back({"flow_function",
                    "critical pressure ratio, gamma " + two_digits(c.gamma),
                    heywood,
                    c.ratio,
                    1.0 - other.z_critical,
                    relative(2e-6, "printed digits"),
                    "-",
                    {}});
    rows.push_back({"flow_function",
                    "choked flow parameter, gamma " + two_digits(c.gamma),
                    heywood,
                    c.psi,
                    mass_flow_parameter(other, 0.3),
                    relative(2e-6, "printed digits"),
                    "-",
                    {}});
  }

  struct Expansion {
    double ratio, factor;
  };
  for (const Expansion& e :
       {Expansion{0.99, 0.99463}, Expansion{0.95, 0.97285}, Expansion{0.9, 0.94492}, Expansion{0.8, 0.88648}})
    rows.push_back({"flow_function",
                    "expansibility at p2/p1 " + two_digits(e.ratio),
                    {"ISO 5167-3 (nozzles)", "expansibility at zero diameter ratio", Seen::computed},
                    e.factor,
                    std::sqrt(m::driving_pressure(gas, 1.0, e.ratio) / (1.0 - e.ratio)),
                    relative(1e-5, "printed digits"),
                    "-",
                    {}});

  // Worked examples: air, R = 287 J/(kg K), effective area = printed area.
  const double R = 287.0;
  rows.push_back({"flow_function",
                  "nozzle of 0.001 m2 from 1 MPa, 333 K to 591 kPa",
                  {"Fox & McDonald, Introduction to Fluid Mechanics", "ch. 12, p. 628", Seen::in_source},
                  2.20,
                  m::orifice_flow(gas, 1e-3, 1e6, 1e6 / (R * 333.0), 591e3, 1.0, 0.0),
                  absolute(0.005, "printed digits"),
                  "kg/s",
                  {}});
  const std::string cengel = "Cengel & Cimbala, Fluid Mechanics";
  const double p0 = 1.0457e6, T0 = 884.2;  // of air entering at 1 MPa, 873 K and 150 m/s
  const double rho0 = p0 / (R * T0);
  rows.push_back({"flow_function",
                  "nozzle of 50 cm2, 1 MPa, 873 K, 150 m/s to 0.7 MPa",
                  {cengel, "ch. 12, p. 650", Seen::in_source},
                  6.77,
                  m::orifice_flow(gas, 50e-4, p0, rho0, 0.7e6, 1.0, 0.0),
                  relative(4e-3, "the book reads rounded tables"),
                  "kg/s",
                  {}});
  rows.push_back({"flow_function",
                  "the same nozzle, choked at 0.4 MPa",
                  {cengel, "ch. 12, p. 650", Seen::in_source},
                  7.11,
                  m::orifice_flow(gas, 50e-4, p0, rho0, 0.4e6, 1.0, 0.0),
                  relative(2e-3, "the book reads rounded tables"),
                  "kg/s",
                  {}});
  rows.push_back({"flow_function",
                  "air from a tyre at 314 kPa, 298 K through a 4 mm hole",
                  {cengel, "ch. 12, tyre leak", Seen::in_source},
                  0.00924,
                  m::orifice_flow(gas, 1.256637e-5, 314e3, 314e3 / (R * 298.0), 94e3, 1.0, 0.0),
                  absolute(5e-6, "printed digits"),
                  "kg/s",
                  {}});

  // Root that is smooth at zero, width 0.01: a library documents its error.
  const std::string library = "Modelica Standard Library, fluid utilities";
  rows.push_back({"smooth_root",
                  "regularised root at ten widths",
                  {library, "error of 0.25 % at x = 0.1 for width 0.01", Seen::in_source},
                  -0.0025,
                  m::smooth_root(0.1, 0.01) / std::sqrt(0.1) - 1.0,
                  absolute(5e-5, "printed digits"),
                  "-",
                  {}});
  rows.push_back({"smooth_root",
                  "regularised root at one width",
                  {library, "error of 16 % at x = 0.01 for width 0.01", Seen::in_source},
                  -0.16,
                  m::smooth_root(0.01, 0.01) / std::sqrt(0.01) - 1.0,
                  absolute(0.005, "printed digits"),
                  "-",
                  {}});
}

}  // namespace glassbowl::validation
