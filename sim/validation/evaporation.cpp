#include "models/mixture/evaporation.hpp"

#include <string>

#include "models/constants.hpp"
#include "sim/validation/solve.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

/// Share of the fuel that has evaporated when evaporation comes to rest, at an air-fuel ratio, temperature
/// and total pressure. The volume is that of air and vapour.
double equilibrium_share(double air_fuel_ratio, double T, double p) {
  const m::Fuel<> fuel;
  const double R_vapour = 8.314462618 / fuel.vapour_molar_mass;
  return find_root(
      [&](double share) {
        const double volume = (share * R_vapour + air_fuel_ratio * 287.05287) * T / p;
        return m::evaporation_rate(fuel, 1.0 - share, share, T, 1.0 / volume, R_vapour, 1.0);
      },
      1e-6, 1.0 - 1e-9);
}

}  // namespace

void check_evaporation(std::vector<Row>& rows) {
  // A five-component mixture: isopentane .25, hexane .15, iso-octane .27, toluene .23, decane .10 by moles.
  const std::string raoult = "Raoult's law with Antoine constants of Poling et al., five components";
  struct Point {
    double ratio, celsius, share;
  };
  const auto add = [&](const Point& q, double p, const char* where) {
    Disagreement stated;
    const double T = q.celsius + 273.15;
    const double computed = equilibrium_share(q.ratio, T, p);
    if (p < 60e3 && q.celsius > 0.0)
      stated = {
          "one boiling curve of three constants stands for five components; it lets the last tenth go too "
          "early in vacuum",
          0.09};
    rows.push_back(
        {"evaporation",
         "evaporated share, air-fuel ratio " + std::to_string(q.ratio).substr(0, 4) + ", " +
             std::to_string(static_cast<int>(q.celsius)) + " C, " + where,
         {raoult, "equilibrium flash", Seen::computed_seen},
         q.share,
         computed,
         absolute(0.05,
                  "one curve for the blend; real blends differ by this much at one temperature. The curve's "
                  "constants are fitted to this law, so these rows show that the form can follow it"),
         "-",
         stated});
  };
  for (const Point& q : {Point{14.7, -20, 0.381}, Point{14.7, 0, 0.692}, Point{14.7, 20, 0.894},
                         Point{8, -20, 0.282}, Point{8, 0, 0.537}, Point{4, -20, 0.197}, Point{4, 0, 0.377},
                         Point{4, 20, 0.658}, Point{2, -10, 0.187}, Point{2, 30, 0.613}, Point{1, 0, 0.172}})
    add(q, 101325.0, "1 atm");
  for (const Point& q : {Point{14.7, -20, 0.534}, Point{14.7, 0, 0.816}, Point{14.7, 10, 0.896}})
    add(q, 50e3, "50 kPa");

  const auto reid = in_range(55.0, 103.0);
  const double cold = 1e-3 * m::vapour_pressure(m::Fuel<>{}, 310.95, 0.0);
  rows.push_back(
      {"evaporation",
       "vapour pressure of fresh fuel at 37.8 C",
       {"US Department of Energy, Alternative Fuels Data Center, fuel properties",
        "gasoline, Reid vapour pressure 8 to 15 psi", Seen::in_source},
       reid.middle,
       cold,
       reid.tolerance,
       "kPa",
       {"the boiling curve is that of a blend of 45 kPa; butane, which makes pump fuel volatile, is "
        "not in it",
        45.0}});
  rows.push_back({"evaporation",
                  "vapour pressure of the five-component liquid at 37.8 C",
                  {raoult, "bubble point", Seen::computed_seen},
                  45.3,
                  cold,
                  relative(0.05, "scatter of vapour-pressure data"),
                  "kPa",
                  {}});
}

}  // namespace glassbowl::validation
