#include <cmath>
#include <string>

#include "models/fuel/emulsion_channel.hpp"
#include "models/fuel/emulsion_tube.hpp"
#include "models/fuel/liquid_column.hpp"
#include "models/fuel/main_circuit.hpp"
#include "sim/validation/topics.hpp"

namespace glassbowl::validation {
namespace m = glassbowl::models;
namespace {

/// Slug velocity over √(g D): the void fraction's limit as the gas flow vanishes in still liquid.
double slug_coefficient(double diameter) {
  const double gas = 1e-9;
  return gas / m::drift_flux_void(gas, 0.0, diameter) / std::sqrt(9.80665 * diameter);
}

double liquid_establishment_time() {
  const double rho = 745.0, dp = 2000.0, area = 1e-6, length = 0.04;
  const double final_speed = std::sqrt(2.0 * dp / rho), final_flow = rho * area * final_speed;
  double flow = 0.0, time = 0.0;
  const double dt = 1e-6;
  while (flow < 0.99 * final_flow && time < 1.0) {
    const double loss = dp * (flow / final_flow) * (flow / final_flow);
    flow += dt * m::column_rate(dp - loss, length / area, 2.0 * loss / (flow + 1e-12), 0.0);
    time += dt;
  }
  return time * final_speed / length;
}

}  // namespace

void check_emulsion(std::vector<Row>& rows) {
  // Two-phase flow in a vertical passage.
  const Source dumitrescu{"Dumitrescu, Z. angew. Math. Mech. 23, 1943", "slug in a still tube",
                          Seen::from_memory};
  rows.push_back({"main_circuit",
                  "slug velocity over sqrt(g D)",
                  dumitrescu,
                  0.351,
                  slug_coefficient(0.004),
                  absolute(0.005, "published constants 0.345 to 0.351"),
                  "-",
                  {}});
  rows.push_back({"main_circuit",
                  "slug velocity over sqrt(g D), other measurement",
                  {"White & Beardmore, Chem. Eng. Sci. 17, 1962", "inertial limit", Seen::from_memory},
                  0.345,
                  slug_coefficient(0.004),
                  absolute(0.006, "published constants 0.345 to 0.351"),
                  "-",
                  {}});
  rows.push_back({"main_circuit",
                  "distribution parameter: volume share over void at high speed",
                  {"Zuber & Findlay, J. Heat Transfer 87, 1965", "round tube, slug flow", Seen::from_memory},
                  1.2,
                  0.5 / m::drift_flux_void(5e6, 5e6, 0.004),
                  absolute(0.005, "printed digits"),
                  "-",
                  {}});

  // 1 g/s of 740/1.15 kg/m³ in a 3 mm tube.
  struct Void {
    std::string work;
    double quality, gas, liquid, fraction;
  };
  const std::string armand = "Armand 1946, void = 0.833 of the volumetric quality";
  const std::string chisholm = "Chisholm, J. Mech. Eng. Sci. 15, 1973, slip by mixture density";
  for (const Void& v :
       {Void{armand, 0.01, 1.2302, 0.18926, 0.722}, Void{armand, 0.05, 6.151, 0.18161, 0.809},
        Void{chisholm, 0.01, 1.2302, 0.18926, 0.705}, Void{chisholm, 0.05, 6.151, 0.18161, 0.855}})
    rows.push_back({"main_circuit",
                    "void fraction, quality " + std::to_string(v.quality).substr(0, 4),
                    {v.work, "1 g/s in a 3 mm tube", Seen::computed},
                    v.fraction,
                    m::drift_flux_void(v.gas, v.liquid, 0.003),
                    relative(0.10, "void correlations scatter by 10 % against data"),
                    "-",
                    {}});

  // Homogeneous mixture in the slow channel: 1 % air by mass at 1.15 kg/m³.
  m::EmulsionChannel<> channel;
  channel.volume = 1e-6;
  const double T = 293.15, air_density = 1.15, mixture_density = 99.666;
  const m::EmulsionChannelState<double> state{0.0, 0.0, 0.99 * mixture_density * channel.volume,
                                              0.01 * mixture_density * channel.volume};
  const auto inside =
      m::channel_conditions(channel, m::measure_channel(channel, -0.025, 740.0, 0.55e-6, T), state);
  rows.push_back({"emulsion_channel",
                  "share of the channel that the air takes, quality 0.01",
                  {"Collier & Thome, Convective Boiling and Condensation",
                   "homogeneous model, volumetric quality", Seen::computed},
                  0.8667,
                  state.gas / (inside.pressure / (287.05287 * T)) / channel.volume,
                  relative(2e-3, "the model rounds off the filling of the channel"),
                  "-",
                  {}});
  rows.push_back({"emulsion_channel",
                  "pressure of that air",
                  {"ideal gas law", "R T times 1.15 kg/m3", Seen::derived},
                  air_density * 287.05287 * T,
                  inside.pressure,
                  relative(2e-3, "the model rounds off the filling of the channel"),
                  "Pa",
                  {}});
  const m::GasFlow gas(1.4);
  const auto flow = m::outlet_flow(gas, inside, 1e-6, inside.pressure - 2000.0, 1.2);
  rows.push_back({"emulsion_channel",
                  "fuel through a 1 mm2 outlet under 2 kPa",
                  {"Collier & Thome, Convective Boiling and Condensation",
                   "homogeneous model, incompressible orifice", Seen::computed},
                  0.6251,
                  1000.0 * flow.fuel,
                  relative(0.015, "the program's law is compressible"),
                  "g/s",
                  {}});

  // Fuel that must be set moving.
  rows.push_back({"liquid_column",
                  "establishment of flow: time to 99 % over L/V0",
                  {"Streeter & Wylie, Fluid Mechanics", "establishment of flow, ln 199", Seen::computed},
                  5.2933,
                  liquid_establishment_time(),
                  relative(1e-3, "time step"),
                  "-",
                  {}});
  rows.push_back({"liquid_column",
                  "steady outflow of a full passage over inflow",
                  {"conservation of mass", "", Seen::derived},
                  1.0,
                  m::column_outflow(1e-3, 2e-3, 2e-3, 4e-3) / 1e-3,
                  relative(1e-6, "round-off of the one-way flow"),
                  "-",
                  {}});

  // Bubbles at a hole.
  const double strong = 1e6, threshold = 168.0;
  rows.push_back({"emulsion_tube",
                  "pressure lost to surface tension, well above the threshold",
                  {"Laplace pressure, 0.021 N/m at 0.5 mm", "", Seen::derived},
                  threshold,
                  strong - m::after_capillarity(strong, threshold),
                  relative(1e-4, "printed digits"),
                  "Pa",
                  {}});
  m::EmulsionTube<> tube;
  tube.rows = {{-0.010, 1.0e-3, 4.0}};
  tube.discharge = 1.0;
  rows.push_back({"emulsion_tube",
                  "area of four 1 mm holes uncovered",
                  {"circles", "", Seen::derived},
                  3.14159,
                  1e6 * m::uncovered_area(tube, -0.020),
                  relative(1e-5, "printed digits"),
                  "mm2",
                  {}});
  rows.push_back({"emulsion_tube",
                  "the same row half uncovered",
                  {"symmetry", "", Seen::derived},
                  0.5,
                  m::uncovered_area(tube, -0.010) / m::uncovered_area(tube, -0.020),
                  relative(1e-9, "exact by symmetry"),
                  "-",
                  {}});
}

}  // namespace glassbowl::validation
