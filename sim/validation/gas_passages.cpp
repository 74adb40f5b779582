#include <cmath>

#include "models/gas/flow_function.hpp"
#include "models/gas/restriction.hpp"
#include "models/gas/volume.hpp"
#include "sim/validation/solve.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

/// Time to 99 % of the final speed of a still gas column of length L behind which a constant pressure
/// drop dp is applied, in units of L V0/(2 dp/ρ).
double establishment_time() {
  const double rho = 1.2, dp = 500.0, area = 1e-3, length = 0.5;
  const double inertance = length / area;
  const double final_speed = std::sqrt(2.0 * dp / rho);
  const double final_flow = rho * area * final_speed;
  double flow = 0.0, time = 0.0;
  const double dt = 2e-6;
  const auto rate = [&](double f) {
    return m::restriction_rate(dp, f, 1.0 / rho, 1.0 / rho, area, inertance, 0.0);
  };
  while (flow < 0.99 * final_flow && time < 1.0) {  // midpoint rule; far finer than the tolerance
    flow += dt * rate(flow + 0.5 * dt * rate(flow));
    time += dt;
  }
  return time / (length * final_speed / (2.0 * dp / rho));
}

/// A rigid insulated vessel that fills with air at T0 through a choked opening.
struct Filling {
  m::GasData<double> data = m::make_gas_data(m::Fuel<>{});
  m::GasFlow gas{1.4};
  double volume = 100e-6, area = 3e-6, p0 = 101325.0, T0 = 293.15;

  double pressure_rate = 0.0;  ///< [Pa/s] at the first pressure
  double duration = 0.0;       ///< [s]
  double temperature = 0.0;    ///< [K] at the end

  void run(double p_begin, double p_end, double T_begin) {
    const m::PerSpecies<double> only_air{1.0, 0.0, 0.0, 0.0};
    auto state = m::fill_volume(data, volume, p_begin, T_begin, only_air);
    const auto outside = m::boundary_gas(data, p0, T0, only_air);
    const double dt = 1e-6;
    auto inside = m::evaluate_volume(data, state, volume);
    for (double t = 0.0; t < 1.0 && inside.pressure < p_end; t += dt) {
      const double flow =
          m::orifice_flow(gas, area, outside.pressure, outside.density, inside.pressure, inside.density, 0.0);
      state.mass[m::air] += dt * flow;
      state.energy += dt * flow * outside.enthalpy;
      const double before = inside.pressure;
      inside = m::evaluate_volume(data, state, volume);
      if (duration == 0.0) pressure_rate = (inside.pressure - before) / dt;
      duration += dt;
    }
    temperature = inside.temperature;
  }
};

}  // namespace

void check_gas_passages(std::vector<Row>& rows) {
  // The passage with inertia must come to rest at the orifice law.
  const m::GasFlow gas(1.4);
  const double p0 = 1e6, rho0 = p0 / (287.0 * 333.0), area = 1e-3;
  const double steady = find_root(
      [&](double flow) {
        return m::restriction_rate(m::driving_pressure(gas, p0, 591e3), flow, 1.0 / rho0, 1.0 / rho0, area,
                                   100.0, 4e-5);
      },
      0.1, 10.0);
  rows.push_back({"restriction",
                  "steady flow of a passage: nozzle from 1 MPa, 333 K to 591 kPa",
                  {"Fox & McDonald, Introduction to Fluid Mechanics", "ch. 12, p. 628", Seen::in_source},
                  2.20,
                  steady,
                  absolute(0.005, "printed digits"),
                  "kg/s",
                  {}});
  rows.push_back({"restriction",
                  "establishment of flow: time to 99 % over L V0/(2 g H)",
                  {"Streeter & Wylie, Fluid Mechanics", "establishment of flow, ln 199", Seen::computed},
                  5.2933,
                  establishment_time(),
                  relative(5e-4, "time step"),
                  "-",
                  {}});

  Filling choked;
  choked.run(20e3, 50e3, 293.15);
  const Source first_law{"first law for a rigid vessel, constant heat capacities", "", Seen::derived};
  rows.push_back({"volume",
                  "pressure rise of 100 cm3 filled through a choked 3 mm2",
                  first_law,
                  845.2,
                  choked.pressure_rate / 1000.0,
                  relative(3e-3, "heat capacity varies with temperature"),
                  "kPa/s",
                  {}});
  rows.push_back({"volume",
                  "time from 20 to 50 kPa",
                  first_law,
                  35.5,
                  choked.duration * 1000.0,
                  relative(5e-3, "heat capacity varies with temperature; printed digits"),
                  "ms",
                  {}});
  Filling evacuated;
  evacuated.run(5.0, 50e3, 293.15);
  rows.push_back({"volume",
                  "temperature in an evacuated vessel after filling with air at 20 C",
                  {"Cengel & Boles, Thermodynamics", "u(T) = h(293.15 K) in table A-17", Seen::from_memory},
                  409.8,
                  evacuated.temperature,
                  relative(5e-3, "straight line for cv"),
                  "K",
                  {}});
}

}  // namespace glassbowl::validation
