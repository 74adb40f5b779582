#include "sim/validation/textbook_laws.hpp"

#include <cmath>

#include "models/fluids/atmosphere.hpp"
#include "models/fuel/jet.hpp"
#include "models/fuel/tank_feed.hpp"
#include "models/gas/flow_function.hpp"
#include "models/throat/venturi.hpp"
#include "sim/validation/solve.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {
constexpr double stiff = 1e10;  ///< [Pa] beside which a carburetor's drops vanish
}

double Air::density() const {
  return m::moist_air_density(0.0, temperature, pressure);
}

double incompressible_flow(double CdA, double drop, double rho) {
  static const m::GasFlow gas(1.4);
  return m::orifice_flow(gas, CdA, stiff + drop, rho, stiff, rho, 0.0);
}

double incompressible_depression(double mass_flow, double rho, double CdA) {
  return m::throat_depression(mass_flow, rho, stiff, CdA);
}

double head_of_fuel(double z, double rho) {
  m::TankFeed<> tank;
  tank.head = z;
  return m::feed_pressure(tank, rho * tank.fuel_volume, rho);
}

namespace {
double flux(const m::GasFlow& gas, const Air& air, double drop) {
  return m::orifice_flow(gas, 1.0, air.pressure, air.density(), air.pressure - drop, air.density(), 0.0);
}
}  // namespace

double mass_flux(const Air& air, double drop, double gamma) {
  return flux(m::GasFlow(gamma), air, drop);
}

double ideal_speed(const Air& air, double drop, double gamma) {
  // p = p0 - s², dp = -2 s ds: the integrand is finite where G is zero. Midpoint rule.
  const m::GasFlow gas(gamma);
  const double end = std::sqrt(drop);
  const int n = 400;
  double speed = 0.0;
  for (int i = 0; i < n; ++i) {
    const double s = end * (i + 0.5) / n;
    speed += 2.0 * s / flux(gas, air, s * s) * end / n;
  }
  return speed;
}

double drop_for_speed(const Air& air, double speed, double gamma) {
  double low = 0.0, high = 0.4 * air.pressure;
  for (int i = 0; i < 50; ++i) {
    const double middle = 0.5 * (low + high);
    (ideal_speed(air, middle, gamma) < speed ? low : high) = middle;
  }
  return 0.5 * (low + high);
}

double area_of_bore(double bore) {
  return m::jet_area(m::Jet<>{bore, 2.0 * bore, 0.0, 0.0});
}

double bore_of_area(double area) {
  return find_root([&](double bore) { return area_of_bore(bore) - area; }, 1e-5, 1.0);
}

double jet_bore(double fuel_flow, double drop, double rho, double Cd) {
  return find_root(
      [&](double bore) { return incompressible_flow(Cd * area_of_bore(bore), drop, rho) - fuel_flow; }, 1e-5,
      1e-1);
}

}  // namespace glassbowl::validation
