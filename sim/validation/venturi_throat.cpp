#include "models/throat/venturi.hpp"

#include <string>

#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;

void check_venturi_throat(std::vector<Row>& rows) {
  // Unit stagnation state, R T0 = 1: the mass flow parameter is the mass flow through unit area.
  struct Mach {
    double M, pressure_ratio, flow;
  };
  for (const Mach& r :
       {Mach{0.1, 0.99303, 0.11761}, Mach{0.2, 0.97250, 0.23105}, Mach{0.3, 0.93947, 0.33647},
        Mach{0.4, 0.89561, 0.43061}, Mach{0.5, 0.84302, 0.51105}, Mach{0.6, 0.78400, 0.57628}})
    rows.push_back({"venturi",
                    "throat depression over p0 at Mach " + std::to_string(r.M).substr(0, 3),
                    {"NACA Report 1135, 1953", "table I", Seen::computed},
                    1.0 - r.pressure_ratio,
                    m::throat_depression(r.flow, 1.0, 1.0, 1.0),
                    relative(0.01, "the model inverts the law cut after its square, and claims this much"),
                    "-",
                    {}});

  // Overall flow of a venturi with its textbook discharge coefficient.
  const m::Venturi<> venturi;
  const auto coefficient = in_range(0.80, 0.94);
  rows.push_back(
      {"venturi",
       "discharge coefficient of the default venturi",
       {"Mathur & Sharma, Internal Combustion Engine", "ch. 11, range over the examples", Seen::in_source},
       coefficient.middle,
       venturi.discharge,
       coefficient.tolerance,
       "-",
       {}});

  // Dynamic pressure at the throat of a single in its intake stroke: far from compressible.
  const double rho = 1.184, area = 0.25 * 3.14159265358979323846 * 0.030 * 0.030, speed = 133.0;
  rows.push_back({"venturi",
                  "peak signal of a 250 cm3 single at 8000 rpm in a 30 mm throat",
                  {"Bernoulli, incompressible: 1/2 rho v2 at 133 m/s", "", Seen::derived},
                  10.47e3,
                  m::throat_depression(rho * area * speed, rho, 1e9, area),
                  relative(1e-3, "printed digits"),
                  "Pa",
                  {}});
}

}  // namespace glassbowl::validation
